"""What happened. Every event has its time; names are past."""

from dataclasses import dataclass
from typing import Final, Literal

from voiceflow.grammar.meaning import Meaning
from voiceflow.phraseology.prompts import NoteEnd

#: What hears the person, in ``DeviceLost``: without it nothing can be rejected.
MICROPHONE: Final = "microphone"
#: What the person hears the tool with.
SPEAKERS: Final = "speakers"


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """What one utterance amounted to when it was heard; kept for good.

    Replay uses the meaning stored here and never reads old words with a newer grammar.

    Attributes:
        text: The words of the best hypothesis; empty if nothing was recognised.
        meaning: What they meant at the item that listened.
        confidence: 0 to 1.
        engine: Which engine heard it ("typed" for the keyboard).
        speech_start_s: Start of speech on the audio clock.
        speech_end_s: End of speech on the audio clock.
        over_own_voice: The tool was speaking over speakers meanwhile: some of it may be
            what the tool said.
    """

    text: str
    meaning: Meaning
    confidence: float
    engine: str
    speech_start_s: float
    speech_end_s: float
    over_own_voice: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """The run began.

    Attributes:
        keyboard: Lines that are typed are heard beside the voice.
    """

    kind: Literal["started"] = "started"
    at_s: float
    keyboard: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """An utterance ended and was understood, or not.

    Attributes:
        item_id: The item whose grammar was listening: a late answer to item 7
            cannot answer item 8.
    """

    kind: Literal["heard"] = "heard"
    at_s: float
    item_id: str
    utterance: Utterance


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeechStarted:
    """Somebody began to speak."""

    kind: Literal["speech-started"] = "speech-started"
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """The tool finished speaking, or was cut short.

    Attributes:
        words: The very words that were to be said.
        completed: False if speech or the end of the run cut them short.
        begun: False if not even their beginning was said.
    """

    kind: Literal["spoken"] = "spoken"
    at_s: float
    words: str
    completed: bool
    begun: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class TimePassed:
    """The state's next deadline is due."""

    kind: Literal["time-passed"] = "time-passed"
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceLost:
    """A microphone or speaker stopped working.

    Attributes:
        device: ``MICROPHONE``, ``SPEAKERS``, or "voice" if no speech can be made.
    """

    kind: Literal["device-lost"] = "device-lost"
    at_s: float
    device: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceReturned:
    """The device works again."""

    kind: Literal["device-returned"] = "device-returned"
    at_s: float
    device: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InputEnded:
    """The recording or the keyboard input ended before the check did."""

    kind: Literal["input-ended"] = "input-ended"
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteTaken:
    """What was said after the person asked for a note; its sound is in the journal already.

    Attributes:
        item_id: The item that it is about.
        digest: SHA-256 of its sound (FLAC), hexadecimal; empty if it was typed.
        length_s: Of that sound; 0 if it was typed.
        text: Its words, as the engine wrote them or as they were typed; empty: nobody
            wrote them down.
        engine: Which engine wrote them ("typed" for the keyboard); empty: none.
        ended: How it came to its end.
    """

    kind: Literal["note-taken"] = "note-taken"
    at_s: float
    item_id: str
    digest: str
    length_s: float
    text: str
    engine: str
    ended: NoteEnd = NoteEnd.PAUSE


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileUsed:
    """The speaker profile that an engine listens with.

    Attributes:
        name: What the speaker calls it.
        digest: SHA-256 of what was in it, hexadecimal.
    """

    name: str
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resumed:
    """The run goes on after the program had stopped.

    Attributes:
        clock_at: Clock time of the resumption, ISO 8601 with UTC offset: the run's
            own seconds stand still while the program is stopped. None: not known.
        source: How the person is heard from here on: "microphone", "typed", or the
            absolute path of a recording. None: not known, and taken for as before.
        keyboard: Lines that are typed are heard beside the voice, from here on.
        profile: The speaker profile that listens from here on; None: none does.
        goes_on: The recording is heard on from the very place: what the person says next is
            what was said next, so that a note that was waited for is waited for still.
    """

    kind: Literal["resumed"] = "resumed"
    at_s: float
    clock_at: str | None = None
    source: str | None = None
    keyboard: bool = False
    profile: ProfileUsed | None = None
    goes_on: bool = False


Event = (
    Started
    | Heard
    | SpeechStarted
    | Spoken
    | TimePassed
    | DeviceLost
    | DeviceReturned
    | InputEnded
    | Resumed
    | NoteTaken
)
