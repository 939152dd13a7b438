"""From options to the settings of a run."""

from dataclasses import replace

from voiceflow.settings import PAUSES, Settings, Wording


def with_pauses(settings: Settings, name: str | None) -> Settings:
    """Give settings that wait as a person speaks.

    Args:
        settings: The settings before.
        name: Of ``PAUSES``; none: as before.
    """
    if name is None:
        return settings
    return replace(settings, endpointing=replace(settings.endpointing, pauses=PAUSES[name]))


def with_voice(
    settings: Settings,
    *,
    rate_wpm: int,
    volume_percent: int,
    name: str | None,
    wording: str,
    earcons: bool,
) -> Settings:
    """Give settings that speak as a person likes it.

    Args:
        settings: The settings before.
        rate_wpm: Words a minute; after "speak slower" it is as much slower as usual.
        volume_percent: Of what the voice gives.
        name: The voice, as the machine names it; none: the language's own.
        wording: A ``Wording``.
        earcons: Sounds before some words.
    """
    usual = settings.voice
    slower_wpm = round(rate_wpm * usual.slower_wpm / usual.rate_wpm)
    voice = replace(
        usual,
        rate_wpm=rate_wpm,
        slower_wpm=slower_wpm,
        volume=volume_percent / 100,
        name=name,
        wording=Wording(wording),
        earcons=earcons,
    )
    return replace(settings, voice=voice)
