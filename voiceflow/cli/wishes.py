"""From options to the settings of a run."""

from dataclasses import replace

from voiceflow.settings import PAUSES, Settings


def with_pauses(settings: Settings, name: str | None) -> Settings:
    """Give settings that wait as a person speaks.

    Args:
        settings: The settings before.
        name: Of ``PAUSES``; none: as before.
    """
    if name is None:
        return settings
    return replace(settings, endpointing=replace(settings.endpointing, pauses=PAUSES[name]))
