"""Options that several commands share, so that they mean the same everywhere."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

import click

from voiceflow.dialogue.events import SPEAKERS
from voiceflow.errors import UsageError
from voiceflow.limits.computed import Conditions
from voiceflow.settings import PAUSES, Care, VoiceSettings, Wording

F = TypeVar("F", bound=Callable[..., Any])

aircraft = click.option(
    "--aircraft",
    metavar="FILE",
    default=None,
    help="Aircraft file: gauges, limits and equipment of this tail "
    "(default: the one that the check file names).",
)
own_words = click.option(
    "--own-words",
    metavar="FILE",
    type=click.Path(path_type=Path),
    default=None,
    help="Your own phrases and pronunciations (default: VOICEFLOW_OWN_WORDS, else "
    "own-words.yaml in your settings folder, if it is there).",
)
temperature = click.option(
    "--temperature",
    metavar="C",
    type=click.FloatRange(-60, 60),
    default=None,
    help="Outside, degrees Celsius; for limits that are worked out for the day.",
)
crew = click.option(
    "--crew",
    metavar="N",
    type=click.IntRange(1, 20),
    default=None,
    help="How many breathe of the crew's oxygen; for its least pressure.",
)
hours = click.option(
    "--hours",
    metavar="H",
    type=click.FloatRange(0, 24),
    default=None,
    help="Planned, of the engines; for the least oil.",
)
elevation = click.option(
    "--elevation",
    metavar="FT",
    type=click.FloatRange(-2000, 20000),
    default=None,
    help="Of the stand, feet; for altimeters.",
)
density = click.option(
    "--density",
    metavar="KG_L",
    type=click.FloatRange(0.6, 1.0),
    default=None,
    help="Of the fuel taken on, kilograms a litre, as its delivery note has it "
    "(default: what the check file has where litres meet kilograms).",
)
situation = click.option(
    "--situation",
    "situations",
    metavar="NAME=KIND",
    multiple=True,
    help="What items ask for beside the equipment, such as flight-of-day=later; "
    "may be given more than once.",
)
captain = click.option(
    "--captain",
    metavar="NAME",
    default=None,
    help="Who signs at the end (default: the captain of the sector plan; else nobody).",
)
starts_at = click.option(
    "--starts-at",
    metavar="TIME",
    default=None,
    help="Clock time at which a recording or a typed run begins, such as "
    "2026-11-27T05:10+00:00 (default: now).",
)
audio = click.option(
    "--audio",
    metavar="WAV",
    type=click.Path(path_type=Path),
    default=None,
    help="Hear a recording instead of the microphone.",
)
typed = click.option(
    "--typed", is_flag=True, help="Type your answers instead of speaking; words are printed."
)
engine = click.option(
    "--engine",
    type=click.Choice(["auto", "vosk", "pocketsphinx"]),
    default="auto",
    show_default=True,
    help="What listens: Vosk if it has a model for the check's language, else PocketSphinx.",
)
model = click.option(
    "--model",
    metavar="DIR",
    type=click.Path(path_type=Path),
    default=None,
    help="Folder of a Vosk model.",
)
profile = click.option(
    "--profile",
    metavar="NAME",
    default=None,
    help="Your profile from the sound check (voiceflow mic --sound-check NAME); none: no profile.",
)
care = click.option(
    "--care",
    type=click.Choice([str(care) for care in Care]),
    default=str(Care.NORMAL),
    show_default=True,
    help="How readily you are asked before an answer is taken. Critical items and readings "
    "outside limits are always confirmed, and every reading is read back.",
)
voice = click.option(
    "--voice",
    metavar="speakers|FILE.wav|none",
    default=None,
    help="Where the tool speaks (default: speakers with a microphone, else none). "
    "With --audio a WAV file holds both sides: you left, the tool right.",
)
pauses = click.option(
    "--pauses",
    type=click.Choice(list(PAUSES)),
    default=None,
    help="How long you may pause before your answer counts as over: usual, or long for who "
    "speaks slowly (default: usual).",
)
rate = click.option(
    "--rate",
    type=click.IntRange(80, 400),
    default=VoiceSettings().rate_wpm,
    show_default=True,
    metavar="WPM",
    help="How fast the tool speaks, words a minute.",
)
volume = click.option(
    "--volume",
    type=click.IntRange(1, 100),
    default=100,
    show_default=True,
    metavar="PERCENT",
    help="How loud the tool speaks, of what its voice gives.",
)
speaking_voice = click.option(
    "--speaking-voice",
    metavar="NAME",
    default=None,
    help="Another voice, as your machine names it (default: the language's own).",
)
wording = click.option(
    "--wording",
    type=click.Choice([str(one) for one in Wording]),
    default=str(Wording.NORMAL),
    show_default=True,
    help="How much the tool says. Terse still says every value, every verdict outside "
    "limits and every question.",
)
earcons = click.option(
    "--earcons",
    is_flag=True,
    help="Short sounds before words that hold, go on, ask again or tell of a finding.",
)
microphone = click.option(
    "--microphone",
    metavar="NAME",
    default=None,
    help="Hear this microphone: its name or part of it, see voiceflow mic "
    "(default: the one that the system uses, which is also called default).",
)
speakers = click.option(
    "--speakers",
    metavar="NAME",
    default=None,
    help="Speak with these speakers: their name or part of it.",
)
listening = click.option(
    "--listening",
    type=click.Choice(["headset", "speakers"]),
    default="headset",
    show_default=True,
    help="Whether the microphone hears what the tool says: with a headset it does not; with "
    "speakers it does, and its own voice is taken off (needs: pip install livekit).",
)
push_to_talk = click.option(
    "--push-to-talk",
    is_flag=True,
    help="Be heard only between one press of a key in the terminal and the next.",
)
journal = click.option(
    "--journal",
    "journal_path",
    metavar="FILE",
    type=click.Path(path_type=Path),
    default=None,
    help="The journal (default: VOICEFLOW_JOURNAL, else your data folder).",
)
store = click.option(
    "--store",
    metavar="URL",
    default=None,
    help="Read from the fleet's store, not from a journal: postgresql://USER@HOST/DATABASE.",
)
as_json = click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")


def voice_of(voice: str | None, speakers: str | None) -> str | None:
    """Give where the tool speaks, if the command line says so.

    Raises:
        UsageError: If it says two things.
    """
    if speakers is None:
        return voice
    if voice not in (None, SPEAKERS):
        raise UsageError(
            "--speakers names speakers, and --voice something else", "Give one of them."
        )
    return SPEAKERS


def conditions_of(
    temperature: float | None,
    crew: int | None,
    hours: float | None,
    elevation: float | None = None,
    density: float | None = None,
) -> Conditions:
    """Give the conditions of the day; a number is as exact as it was typed."""
    return Conditions(
        temperature_c=None if temperature is None else _as_typed(temperature),
        crew=crew,
        hours=None if hours is None else _as_typed(hours),
        elevation_ft=None if elevation is None else _as_typed(elevation),
        density_kg_l=None if density is None else _as_typed(density),
    )


def situation_of(situations: tuple[str, ...]) -> dict[str, str]:
    """Give what items may ask for, by name.

    Raises:
        UsageError: If one is not NAME=KIND.
    """
    found = {}
    for text in situations:
        name, equals, kind = text.partition("=")
        if not (name and equals and kind):
            raise UsageError(
                f"--situation {text!r} is not NAME=KIND", "Write it as flight-of-day=later."
            )
        found[name.strip()] = kind.strip()
    return found


def clock_of(text: str | None, *, is_live: bool) -> datetime | None:
    """Give the clock time at which a run begins, if one was said.

    Raises:
        UsageError: If it is no time, or the run is live and begins now.
    """
    if text is None:
        return None
    if is_live:
        what = "--starts-at is for recordings and typed runs: a microphone hears now"
        raise UsageError(what, "Leave it out.")
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise UsageError(
            f"--starts-at {text!r} is no clock time with its offset",
            "Write it as 2026-11-27T05:10+00:00.",
        )
    return moment


def _as_typed(number: float) -> Decimal:
    exact = Decimal(repr(number))
    whole = exact.to_integral_value()
    return whole if whole == exact else exact


def hears_itself(listening: str, *, is_live: bool) -> bool:
    """Tell whether the microphone hears the tool.

    Raises:
        UsageError: If it is asked for without a microphone.
    """
    if listening == SPEAKERS and not is_live:
        what = "--listening is for a microphone, and this run goes on without one"
        raise UsageError(what, "Leave it out.")
    return listening == SPEAKERS


def together(*options: Callable[[F], F]) -> Callable[[F], F]:
    """Put options on a command, in this order."""

    def decorate(function: F) -> F:
        for option in reversed(options):
            function = option(function)
        return function

    return decorate
