"""``voiceflow run``: do a check."""

from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import click

from voiceflow.audio.frames import RATE_HZ
from voiceflow.cli import options
from voiceflow.cli.checks import load_run
from voiceflow.cli.running import (
    carry_through,
    keyboard,
    keyboard_beside,
    open_journal,
    talk_key,
    watching,
)
from voiceflow.cli.wishes import with_pauses, with_voice
from voiceflow.errors import UsageError
from voiceflow.session.assembly import SILENT, SPEAKERS, Session, Ways
from voiceflow.session.briefing import Briefing, oil_of
from voiceflow.settings import settings_for


@click.command("run")
@click.argument("check")
@options.together(
    options.aircraft,
    options.own_words,
    options.temperature,
    options.crew,
    options.hours,
    options.elevation,
    options.density,
    options.situation,
    options.captain,
    options.starts_at,
    options.audio,
    options.typed,
    options.engine,
    options.model,
    options.profile,
    options.care,
    options.pauses,
    options.voice,
    options.rate,
    options.volume,
    options.speaking_voice,
    options.wording,
    options.earcons,
    options.microphone,
    options.speakers,
    options.listening,
    options.push_to_talk,
    options.journal,
    options.as_json,
)
def command(
    check: str,
    aircraft: str | None,
    own_words: Path | None,
    temperature: float | None,
    crew: int | None,
    hours: float | None,
    elevation: float | None,
    density: float | None,
    situations: tuple[str, ...],
    captain: str | None,
    starts_at: str | None,
    audio: Path | None,
    typed: bool,
    engine: str,
    model: Path | None,
    profile: str | None,
    care: str,
    pauses: str | None,
    voice: str | None,
    rate: int,
    volume: int,
    speaking_voice: str | None,
    wording: str,
    earcons: bool,
    microphone: str | None,
    speakers: str | None,
    listening: str,
    push_to_talk: bool,
    journal_path: Path | None,
    as_json: bool,
) -> int:
    """Do a CHECK, or a whole sector, by voice: Voiceflow reads each item, you answer.

    CHECK is a check file or a sector plan, or the name of one that comes with
    Voiceflow. A plan goes through its checks one after the other: you say when each
    begins, waits go on from one into the next, and at the end you sign. Speak as
    you would on a flight deck: the setting ("both removed"), or the reading
    ("one six zero zero"). At any item you may say "say again", "stand by" and
    "continue", "correction" with the right answer, "leave it for later", "where
    are we", "what is left", "what can I say". Nothing is taken as done that you
    did not say, and readings are read back to you. At a terminal you may also type an
    answer while the microphone listens.

    \b
    Examples:
      voiceflow run cockpit-preparation
      voiceflow run before-start --typed
      voiceflow run northmark-214 --temperature -20
      voiceflow run before-start --microphone headset --speakers headset
      voiceflow run before-start --listening speakers
      voiceflow run my-check.yaml --audio flight.wav --voice both-sides.wav

    Ends with status 0 if the check is complete, 1 if something is open.
    """
    if audio is not None and typed:
        raise UsageError("--audio and --typed exclude each other", "Give one of them.")
    if (microphone or push_to_talk) and (audio is not None or typed):
        option = "--microphone" if microphone else "--push-to-talk"
        other = "--typed" if typed else "--audio"
        raise UsageError(f"{option} is for a microphone, and {other} does without", "Give one.")
    hears_itself = options.hears_itself(listening, is_live=audio is None and not typed)
    clock = options.clock_of(starts_at, is_live=audio is None and not typed)
    load = partial(
        load_run,
        check,
        aircraft,
        own_words,
        options.conditions_of(temperature, crew, hours, elevation, density),
        options.situation_of(situations),
    )
    loaded = load(None)
    settings = with_voice(
        with_pauses(settings_for(care), pauses),
        rate_wpm=rate,
        volume_percent=volume,
        name=speaking_voice,
        wording=wording,
        earcons=earcons,
    )
    voice = options.voice_of(voice, speakers)
    with (
        talk_key(push_to_talk) as key,
        open_journal(journal_path) as journal,
        watching(as_json=as_json, typed=typed, total_s=length_s(audio)) as watcher,
    ):
        ways = Ways(
            recording=audio,
            lines=keyboard(prompt=not as_json) if typed else None,
            # the key of push-to-talk reads the terminal
            beside=None if typed or audio or push_to_talk else keyboard_beside(),
            engine=engine,
            model=model,
            profile=profile,
            voice=voice or (SILENT if typed or audio else SPEAKERS),
            microphone=microphone,
            speakers=speakers,
            talk_key=key,
            hears_itself=hears_itself,
        )
        measured = oil_of(journal, loaded.check, clock or datetime.now(UTC))
        if measured is not None:
            # the journal knows the engines better than the aircraft file
            loaded = load(measured)
        briefing = Briefing(
            journal=journal,
            check=loaded.check,
            plan=loaded.plan,
            conditions=loaded.conditions,
            signer=captain,
        )
        session = Session(
            journal, loaded.check, ways, watcher, settings, briefing=briefing, starts_at=clock
        )
        _, status = carry_through(session.run, watcher=watcher, journal=journal, as_json=as_json)
    return status


def length_s(recording: Path | None) -> float | None:
    """Give the length of a recording, for a progress bar; None if it cannot be told yet."""
    if recording is None:
        return None
    from voiceflow.audio.wav import read_recording

    return len(read_recording(recording)) / RATE_HZ
