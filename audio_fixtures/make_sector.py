"""Record the person's side of a check, or of several, from a script of what is said.

Run it from the checkout, with flite (and espeak-ng, if a voice is one of its) on the
machine::

    python audio_fixtures/make_sector.py SCRIPT.yaml RECORDING.flac

A scripted person listens to the real session and speaks when the tool has finished; what
they say and the quiet room between are the recording. Time is the audio clock, so it is
made, and heard again, faster than it would take aloud. Nothing is forced: what the
person says is heard as any recording is. A script::

    check: walk-round                 # or the plan of a sector
    aircraft: x-skr9                  # if another than it names
    day: {temperature: 15, crew: 2, hours: 2, elevation: 120}   # before what a plan says
    situation: {flight-of-day: later}                           # the same
    starts_at: "2026-11-27T05:02:00+00:00"                      # clock time of second 0
    voice: rms                        # of flite; or {program: espeak-ng, name: en-us}
    affirms: true                     # "affirm" to each question that names what was meant
    repeats: 2                        # what was not taken is said again so often
    ends: {ending: complete, discrepancies: [], open: []}   # left out: any end will do
    lines:
      - pitot-covers: both removed    # the item that is asked, and the words
      - nose-tyre: [uh, 0.25, six two p s i]                # pauses in seconds between
      - {at: nose-strut, say: say again}
      - {at: left-oil, say: stand by, during_s: 0.5}        # so long after it began to speak
      - {at: left-oil, say: continue, after_s: 8.0}         # so long after it has finished
      - {at: left-oil, say: mind the cable, by: slt, talk: true}   # by and to somebody else
      - {at: left-oil, say: left oil fourteen, not_before_s: 300.0}            # of the run
      - {say: affirm}                 # whatever is asked, such as the signature

In a sector an item goes by its own name, or with its check's: walk-round.left-oil. A line is said when it is its turn, and its item must be the one that is asked. Without ``repeats`` everything has to be taken when it is
said first, and making the recording fails with the place where it was not.
"""

import argparse
import shutil
import sys
import tempfile
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from make_fixtures import ROOM_RMS, Sound, Voice, speak
from ruamel.yaml import YAML

import voiceflow
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.cli.checks import Loaded, load_run
from voiceflow.dialogue.actions import Listen, Step
from voiceflow.dialogue.events import Event, Heard
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.dialogue.sector import bare_id
from voiceflow.dialogue.state import PendingAbandon, PendingAnswer, PendingUnable, Phase, State
from voiceflow.grammar.meaning import Ambiguous, Command, Correction, Meaning, NoMatch
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language
from voiceflow.recognition.endpointing import Endpointer
from voiceflow.session.briefing import Briefing
from voiceflow.session.ears import Ears
from voiceflow.session.effects import Conversation, Effects
from voiceflow.session.engines import POCKETSPHINX, make_recogniser
from voiceflow.session.grammars import Grammars
from voiceflow.session.loop import AudioLoop
from voiceflow.session.voice import Timeline
from voiceflow.settings import Settings
from voiceflow.synthesis.cache import CachedSynthesiser
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser

#: How long a person waits after the tool has finished. Long enough that the voice of
#: another machine, a little slower than this one's, is not interrupted.
ANSWER_AFTER_S = 0.6
#: What has not been heard so long after it was said was not taken for speech to the tool.
UNHEARD_AFTER_S = 3.0
TAIL_S = 2.0
LONGEST_S = 3600.0
#: With nothing left to say, the person waits so long for the check to end.
SILENT_AT_LAST_S = 30.0


class ScriptError(Exception):
    """The session did not go as the script says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the script, or what the person adds to it.

    Attributes:
        at: The item that is asked when it is said; None: whatever is asked.
        say: Pieces of text, with pauses in seconds between.
        after_s: Silence before it.
        during_s: Interrupt the tool this long after it began to speak.
        not_before_s: Not before this time of the run.
        by: Who says it.
        is_talk: It is not for the tool.
        attempt: How often it was said before.
        is_reply: It is the person's own "affirm" or "negative", not in the script.
    """

    at: str | None
    say: tuple[str | float, ...]
    after_s: float = ANSWER_AFTER_S
    during_s: float | None = None
    not_before_s: float = 0.0
    by: Voice
    is_talk: bool = False
    attempt: int = 0
    is_reply: bool = False

    @property
    def words(self) -> str:
        """What is said, without its pauses."""
        return " ".join(piece for piece in self.say if isinstance(piece, str))

    def again(self) -> "Line":
        """Give it as it is said once more."""
        plain = replace(self, after_s=ANSWER_AFTER_S, during_s=None, not_before_s=0.0)
        return replace(plain, attempt=self.attempt + 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """Who says what, and how it ends.

    Attributes:
        loaded: What is run.
        starts_at: Clock time of its second 0.
        lines: What is said, in order.
        affirms: The person answers the tool's questions by themselves.
        repeats: How often what was not taken is said again.
        ends: How the check has to end; None: any end will do.
    """

    loaded: Loaded
    starts_at: datetime
    lines: tuple[Line, ...]
    affirms: bool
    repeats: int
    ends: Mapping[str, object] | None


class How(StrEnum):
    """How an answer was taken."""

    AT_ONCE = "taken at once"
    ASKED_ABOUT = "asked about without need"
    AGAIN = "said again"


@dataclass(slots=True, kw_only=True)
class _Turn:
    """What was said and waits to be taken.

    Attributes:
        line: The line.
        meant: What it means where it was said.
        heard: The last utterance that was heard since.
    """

    line: Line
    meant: Meaning
    heard: Heard | None = None


class Person:
    """Somebody who follows the script: a source of sound, and a watcher of the session."""

    def __init__(self, script: Script, pack: Language, settings: Settings, seed: int) -> None:
        self._script = script
        self._pack = pack
        self._policy = settings.policy
        self._dice = np.random.default_rng(seed)
        self._grammars = Grammars(script.loaded.check, pack)
        self._lines = deque(script.lines)
        self._before = "the start"
        self._turn: _Turn | None = None
        self._speech: Sound = np.zeros(0)
        self._spoke_until_s = 0.0
        self._silent_since_s = 0.0
        self._tool_since_s: float | None = None
        self._listening: tuple[str, str | None] | None = None
        self.answers: list[tuple[str, How]] = []
        self.recorded: list[Samples] = []
        self.timeline: Timeline | None = None
        self.state: State | None = None

    # the source

    def frames(self) -> Iterator[Frame]:
        for number in range(int(LONGEST_S * RATE_HZ / FRAME_SAMPLES)):
            now_s = number * FRAME_SAMPLES / RATE_HZ
            self._notice_tool(now_s)
            if not len(self._speech):
                self._think(now_s)
            if not self._lines and now_s - self._silent_since_s > SILENT_AT_LAST_S:
                return
            sound = self._dice.normal(0.0, ROOM_RMS, FRAME_SAMPLES)
            piece, self._speech = self._speech[:FRAME_SAMPLES], self._speech[FRAME_SAMPLES:]
            if len(piece):
                sound[: len(piece)] += piece
                self._spoke_until_s = now_s + FRAME_S
            samples = np.clip(np.round(sound * 32768), -32768, 32767).astype(np.int16)
            self.recorded.append(samples)
            yield Frame(samples=samples, start_s=now_s)
        raise ScriptError(f"the check is not over after {LONGEST_S:.0f} s")

    def close(self) -> None:
        """Nothing to let go of."""

    def _notice_tool(self, now_s: float) -> None:
        if self.timeline is None or self.timeline.next_end_s is None:
            self._tool_since_s = None
            return
        self._silent_since_s = now_s
        if self._tool_since_s is None:
            self._tool_since_s = now_s

    def _think(self, now_s: float) -> None:
        """Judge how the last line was taken, and begin the next one if it is its time."""
        turn = self._turn
        if turn is not None:
            if turn.heard is None and now_s - self._spoke_until_s < UNHEARD_AFTER_S:
                return
            self._turn = None
            self._judge(turn, now_s)
        if self._lines and self._is_due(self._lines[0], now_s):
            self._say(self._lines.popleft(), now_s)

    def _is_due(self, line: Line, now_s: float) -> bool:
        if now_s < line.not_before_s:
            return False
        if line.during_s is not None:
            return self._tool_since_s is not None and now_s - self._tool_since_s >= line.during_s
        return self._tool_since_s is None and now_s - self._silent_since_s >= line.after_s

    def _say(self, line: Line, now_s: float) -> None:
        asked = self.state.item_id if self.state is not None else None
        if line.at is not None and line.at not in (asked, bare_id(asked or "")):
            what = f"the script is at {line.at}, the check at {asked}"
            raise ScriptError(f"at {now_s:.1f} s, after {self._before!r}: {what}")
        meant: Meaning = NoMatch()
        if self._listening is not None:
            grammar = self._grammars.grammar(*self._listening)
            meant = grammar.meaning(self._pack.tokenise(line.words))
        if isinstance(meant, NoMatch | Ambiguous) and not line.is_talk:
            what = "nothing" if isinstance(meant, NoMatch) else "two things"
            raise ScriptError(f"at {now_s:.1f} s: {line.words!r} means {what} at {asked}")
        self._turn = _Turn(line=line, meant=meant)
        self._before = line.words
        self._speech = np.concatenate(
            [
                speak(line.by, piece) if isinstance(piece, str) else np.zeros(int(piece * RATE_HZ))
                for piece in line.say
            ]
        )

    # how it was taken

    def _judge(self, turn: _Turn, now_s: float) -> None:
        """See how a line was taken; what it calls for is said next."""
        line, meant = turn.line, turn.meant
        if line.is_reply and self.state is not None and self.state.phase is not Phase.CONFIRMING:
            return  # the question is answered; the next line tells whether as it should be
        utterance = None if turn.heard is None else turn.heard.utterance
        decision = self._decision(turn.heard)
        is_taken = decision in (Decision.ACCEPT, Decision.CONFIRM)
        if line.is_talk:
            if is_taken:
                raise ScriptError(f"at {now_s:.1f} s: {line.words!r} was taken for {_told(turn)}")
            return
        is_right = utterance is not None and utterance.meaning == meant
        if is_right and is_taken:
            self._count(turn, decision)
            if self._script.affirms and self._asks_about(meant):
                self._lines.appendleft(self._reply("affirm", line))
            return
        what = f"at {now_s:.1f} s: {line.words!r} was heard as {_told(turn)}"
        if decision is Decision.ACCEPT:
            raise ScriptError(f"{what}, and taken")
        if line.attempt >= self._script.repeats:
            raise ScriptError(what)
        print(f"{'':6}  ! {what}")
        self._lines.appendleft(line.again())
        if self.state is not None and self.state.phase is Phase.CONFIRMING:
            # said in answer to a question, "affirm" or "negative" is said again alone
            if self._asks_about(meant):
                self._lines[0] = self._reply("affirm", line)
                self._count(turn, Decision.ACCEPT, how=How.AGAIN)
            elif not isinstance(meant, Command):
                self._lines.appendleft(self._reply("negative", line))

    def _decision(self, heard: Heard | None) -> Decision:
        if heard is None:
            return Decision.IGNORE
        return decide(heard.utterance, self._script.loaded.check.item(heard.item_id), self._policy)

    def _asks_about(self, meant: Meaning) -> bool:
        """Tell whether the tool asks about what was meant."""
        if self.state is None or self.state.phase is not Phase.CONFIRMING:
            return False
        match self.state.pending, meant:
            case PendingAnswer(answer=answer), Correction(this=this, previous=previous):
                return answer in (*this, *previous)
            case PendingAnswer(answer=answer), _:
                return answer == meant
            case PendingUnable(), Command(name=CommandName.UNABLE):
                return True
            case PendingAbandon(), Command(name=CommandName.ABANDON):
                return True
            case _:
                return False

    def _count(self, turn: _Turn, decision: Decision, how: How | None = None) -> None:
        if isinstance(turn.meant, Command):
            return
        if how is None:
            how = How.AGAIN if turn.line.attempt else How.AT_ONCE
            if how is How.AT_ONCE and decision is Decision.CONFIRM and not self._is_asked(turn):
                how = How.ASKED_ABOUT
        self.answers.append((turn.line.words, how))

    def _is_asked(self, turn: _Turn) -> bool:
        """Tell whether it would be asked about however well it was heard."""
        if turn.heard is None:
            return False
        sure = replace(turn.heard.utterance, confidence=1.0, over_own_voice=False)
        return self._decision(replace(turn.heard, utterance=sure)) is Decision.CONFIRM

    def _reply(self, words: str, line: Line) -> Line:
        return Line(at=None, say=(words,), by=line.by, is_reply=True)

    # the watcher

    def happened(self, seq: int, event: Event, step: Step) -> None:
        del seq
        self.state = step.state
        for action in step.actions:
            if isinstance(action, Listen):
                self._listening = (action.item_id, action.previous_id)
        if isinstance(event, Heard):
            self._silent_since_s = event.at_s
            if self._turn is not None:
                self._turn.heard = event
            utterance = event.utterance
            print(f"{event.at_s:6.1f}  ← {utterance.text} [{utterance.confidence:.2f}]")

    def said(self, at_s: float, words: str) -> None:
        print(f"{at_s:6.1f}  → {words}")

    def moved(self, at_s: float) -> None:
        """Nothing to see."""

    def entered(self, run_id: str) -> None:
        """Nothing to see."""

    def told(self, sentence: str) -> None:
        """Nothing to see."""


def _told(turn: _Turn) -> str:
    if turn.heard is None:
        return "nothing"
    utterance = turn.heard.utterance
    return f"{utterance.text!r} [{utterance.confidence:.2f}]"


# --- the script ---


def read_script(path: Path) -> Script:
    """Read a script, and the check or the plan that it names."""
    written = YAML(typ="safe").load(path)
    day = {key: Decimal(str(value)) for key, value in written.get("day", {}).items()}
    conditions = Conditions(
        temperature_c=day.get("temperature"),
        crew=int(day["crew"]) if "crew" in day else None,
        hours=day.get("hours"),
        elevation_ft=day.get("elevation"),
    )
    situation = written.get("situation", {})
    starts_at = written.get("starts_at")
    voice = _voice(written["voice"])
    return Script(
        loaded=load_run(written["check"], written.get("aircraft"), None, conditions, situation),
        starts_at=datetime.fromisoformat(starts_at) if starts_at else datetime.now(UTC),
        lines=tuple(_line(entry, voice) for entry in written["lines"]),
        affirms=written.get("affirms", False),
        repeats=written.get("repeats", 0),
        ends=written.get("ends"),
    )


def _voice(written: str | Mapping[str, str]) -> Voice:
    if isinstance(written, str):
        return Voice(program="flite", name=written)
    return Voice(program=written["program"], name=written["name"])


def _line(entry: Mapping[str, Any], voice: Voice) -> Line:
    if "say" not in entry:
        ((item_id, words),) = entry.items()
        entry = {"at": item_id, "say": words}
    return Line(
        at=entry.get("at"),
        say=tuple(entry["say"]) if isinstance(entry["say"], list) else (entry["say"],),
        after_s=float(entry.get("after_s", ANSWER_AFTER_S)),
        during_s=entry.get("during_s"),
        not_before_s=float(entry.get("not_before_s", 0.0)),
        by=_voice(entry["by"]) if "by" in entry else voice,
        is_talk=entry.get("talk", False),
    )


# --- the recording ---


def record(script: Script, path: Path, earlier: Path | None = None, seed: int = 7) -> Person:
    """Run the script, and write the person's side as FLAC or WAV, by the name.

    Args:
        script: What is said.
        path: Where to.
        earlier: A journal with what was found before; it is copied, not written.
        seed: Of the room.

    Raises:
        ScriptError: If the session did not go as the script says; nothing is written.
    """
    loaded = script.loaded
    check = loaded.check
    pack = language(check.language)
    settings = Settings()
    person = Person(script, pack, settings, seed)
    voice = Timeline(CachedSynthesiser(Pyttsx3Synthesiser(pack)), settings.voice)
    person.timeline = voice
    ears = Ears(
        finder=Endpointer(settings.endpointing),
        recogniser=make_recogniser(pack, POCKETSPHINX),
        grammar=Grammars(check, pack).grammar,
        language=pack,
        # as in a run: what is taken here is taken there
        pauses=settings.endpointing.pauses,
    )
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        place = Path(folder) / "journal.sqlite"
        if earlier is not None:
            shutil.copyfile(earlier, place)
        journal = stack.enter_context(Journal.open(place))
        briefing = Briefing(
            journal=journal, check=check, plan=loaded.plan, conditions=loaded.conditions
        )
        header = RunHeader(
            run_id="recording",
            program_version=voiceflow.__version__,
            started_at=script.starts_at.isoformat(),
            check=check,
            settings=settings,
            engine="pocketsphinx",
            brief=briefing.brief(script.starts_at),
            clock_given=True,
        )
        journal.begin(header)
        effects = Effects(
            store=journal,
            run_id=header.run_id,
            language=pack,
            voice=voice,
            listen=ears.listen,
            watcher=person,
        )
        state = AudioLoop(
            conversation=Conversation(header.begin(), effects),
            ears=ears,
            voice=voice,
            source=person,
            watcher=person,
        ).run()
    found = {
        "ending": state.ending.kind.value if state.ending else None,
        "discrepancies": [one.item_id for one in state.open_discrepancies],
        "open": list(state.ending.open_items) if state.ending else [],
    }
    if script.ends is not None and found != script.ends:
        raise ScriptError(f"the script ends with {script.ends}, the check with {found}")
    _write(path, person.recorded)
    return person


def _write(path: Path, recorded: Sequence[Samples]) -> None:
    last_word = max(
        (index for index, one in enumerate(recorded) if np.abs(one).max() > 300), default=0
    )
    # the closing words are the tool's: the recording need not last through them
    samples = np.concatenate(recorded[: last_word + int(TAIL_S * RATE_HZ / FRAME_SAMPLES)])
    kind: dict[str, Any] = {"format": "WAV"}
    if path.suffix.lower() != ".wav":
        kind = {"format": "FLAC", "compression_level": 1.0}
    soundfile.write(path, samples, RATE_HZ, subtype="PCM_16", **kind)
    print(f"{path.name}: {len(samples) / RATE_HZ:.0f} s, {path.stat().st_size / 1e6:.1f} MB")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("script", type=Path, help="what is said, YAML")
    parser.add_argument("recording", type=Path, help="a FLAC or WAV file to be written")
    parser.add_argument("--journal", type=Path, help="what was found before: it is copied")
    named = parser.parse_args()
    person = record(read_script(named.script), named.recording, named.journal)
    for how in How:
        words = [said for said, taken in person.answers if taken is how]
        told = f": {'; '.join(words)}" if words and how is not How.AT_ONCE else ""
        print(f"{how}: {len(words)} of {len(person.answers)} answers{told}")


if __name__ == "__main__":
    try:
        main()
    except ScriptError as error:
        sys.exit(f"make_sector: {error}")
