"""A live run: the real program, virtual devices, and a scripted speaker in real time.

The program under test is a process of its own, as anybody would start it; it opens
its sound devices through PortAudio. Its events are read from its output to know what it
asks and what it understood; when things happened is taken from the recording of the
room (``live_gaps``), and what the process costs from the operating system.
"""

import json
import math
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from voiceflow.audio.frames import RATE_HZ
from voiceflow.dialogue.events import DeviceLost, DeviceReturned, Event, Heard
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.dialogue.state import Phase, State
from voiceflow.errors import UsageError
from voiceflow.evaluation.live_gaps import Exchange, exchanges, sounding, speech_rms
from voiceflow.evaluation.live_lines import SPEECH_RMS, Line, Script
from voiceflow.evaluation.live_person import Person
from voiceflow.evaluation.live_room import TOOL, Room
from voiceflow.evaluation.metrics import Result, judge_recording
from voiceflow.grammar.meaning import Meaning
from voiceflow.journal import codec
from voiceflow.phraseology.prompts import Prompt

#: A quiet room, as in the recordings: 60 dB below speech.
_QUIET_DB: Final = 60.0
_ANSWERED_WITHIN_S: Final = 3.0
_STUCK_S: Final = 90.0
#: Closing words name every discrepancy, and may be wanted slower: of 60 items they took
#: longer than 90 s.
_LONGEST_CLOSING_S: Final = 900.0
_POLL_S: Final = 0.01
_SAMPLED_EVERY_S: Final = 5.0
_TICKS: Final = os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How the bench is to be.

    Attributes:
        snr_db: Speech over pink noise, decibels; None: a quiet room.
        echo_db: How loud the tool is in its own microphone, against the person, decibels;
            None: it is not heard there, as with a headset.
        hold_s: How long the person is away, once "stand by" was said.
        waiting_s: How long the person says nothing at the first item: there the cost of
            waiting is measured.
        unplug_at: Item at which the microphone is pulled out, and put in again.
        unplugged_s: For how long.
        options: Further options for the program under test.
        seed: Where chance comes from.
    """

    snr_db: float | None = None
    echo_db: float | None = None
    hold_s: float = 1.0
    waiting_s: float = 20.0
    unplug_at: str | None = None
    unplugged_s: float = 3.0
    options: tuple[str, ...] = ()
    seed: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One line, what was heard of it, and how the tool replied.

    Attributes:
        line: The line.
        item: The item that was asked.
        is_question: Whether an answer to a question was wanted ("confirm ...?").
        heard: Meaning and decision of every utterance found in it.
        exchange: What could be heard; None if the recording does not tell.
    """

    line: Line
    item: str
    is_question: bool
    heard: tuple[tuple[Meaning, Decision], ...]
    exchange: Exchange | None

    @property
    def result(self) -> Result:
        """What became of it."""
        return judge_recording(self.line.meaning, self.heard)


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveRun:
    """What a live run came to.

    Attributes:
        said: Every line, in order.
        unprompted: Utterances that were heard while nobody spoke: text and decision.
        state: The last state of the conversation.
        status: Exit status of the program.
        wall_s: How long it ran.
        waiting_cpu: Processor time while it waited for speech, as a part of one core;
            None if that was not measured.
        cpu: Processor time over the whole run, as a part of one core.
        rss_mb: Memory it held: seconds since its start, megabytes (10^6 bytes).
        lost: Devices that were lost, as it told.
        returned: Devices that came back, as it told.
        tool_db: How loud the tool was in the microphone, against the person, decibels;
            None if it was not heard there.
        journal: Its journal.
        run_id: The run in it.
    """

    said: tuple[Said, ...]
    unprompted: tuple[tuple[str, Decision], ...]
    state: State
    status: int
    wall_s: float
    waiting_cpu: float | None
    cpu: float
    rss_mb: tuple[tuple[float, float], ...]
    lost: int
    returned: int
    tool_db: float | None
    journal: Path
    run_id: str


@dataclass(slots=True)
class _Begun:
    line: Line
    item: str
    is_question: bool
    at: int
    heard: list[tuple[Meaning, Decision]] = field(default_factory=list)


class Program:
    """The program under test, and the conversation as it tells it."""

    def __init__(self, command: Sequence[str], room: Room, script: Script, errors: Path) -> None:
        self._check = script.check
        self.state = begin(script.check)
        self.run_id = ""
        self.piece_since = time.monotonic()
        self.silent_since = time.monotonic()
        self.events: list[tuple[Event, State]] = []
        self._lock = threading.Lock()
        self._errors = errors
        self._error_stream = errors.open("wb")
        self.started = time.monotonic()
        self.process = subprocess.Popen(
            command,
            env=room.environment,
            stdout=subprocess.PIPE,
            stderr=self._error_stream,
            stdin=subprocess.PIPE,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        for line in self.process.stdout or ():
            event = codec.load_event(line.decode())
            with self._lock:
                if not self.run_id:
                    self.run_id = str(json.loads(line)["run_id"])
                before = self.state
                self.state = handle(before, event).state
                now = time.monotonic()
                if _first(self.state) is not _first(before):
                    self.piece_since = now
                if before.pieces and not self.state.pieces:
                    self.silent_since = now
                self.events.append((event, before))

    def look(self) -> tuple[State, float, float, int]:
        """Give the state, since when it says what it says, since when it is silent, events."""
        with self._lock:
            return self.state, self.piece_since, self.silent_since, len(self.events)

    def since(self, count: int) -> list[tuple[Event, State]]:
        """Give the events after so many, each with the state before it."""
        with self._lock:
            return self.events[count:]

    def cpu_s(self) -> float:
        """Give the processor time it has used, seconds."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / _TICKS

    def rss_mb(self) -> float:
        """Give the memory that it holds, megabytes."""
        for line in Path(f"/proc/{self.process.pid}/status").read_text().splitlines():
            if line.startswith("VmRSS:"):
                return int(line.split()[1]) * 1024 / 1e6
        return 0.0

    @property
    def is_running(self) -> bool:
        """Whether it has not ended."""
        return self.process.poll() is None

    def complaint(self) -> str:
        """Give the last thing that it complained of."""
        text = self._errors.read_text(encoding="utf-8", errors="replace").strip()
        return text.splitlines()[-1] if text else "it said nothing"

    def close(self) -> None:
        """End it, if it has not ended."""
        if self.is_running:
            self.process.terminate()
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        self._reader.join(5)
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                pipe.close()
        self._error_stream.close()


def _first(state: State) -> Prompt | None:
    return state.pieces[0] if state.pieces else None


def command_for(script: Script, journal: Path, options: Sequence[str]) -> list[str]:
    """Give the command that starts the program under test."""
    command = [sys.executable, "-m", "voiceflow", "run", str(script.path), "--json"]
    return [*command, "--voice", "speakers", "--journal", str(journal), *options]


def run_live(
    script: Script,
    room: Room,
    folder: Path,
    wishes: Wishes,
    *,
    tool_rms: float | None = None,
    command: Sequence[str] | None = None,
    on_hold: Callable[[Program], None] | None = None,
    on_said: Callable[[int], None] | None = None,
) -> LiveRun:
    """Run a check live from its first word to its end.

    Args:
        script: The check and what is said.
        room: Its devices; nothing has been recorded in it yet.
        folder: For the journal and for what the program complains of.
        wishes: How the bench is to be.
        tool_rms: How loud the tool's voice is, in steps of int16; wanted where there
            is an echo.
        command: What starts the program, if not ``command_for``.
        on_hold: Done instead of waiting ``hold_s`` while the check holds.
        on_said: Told after every line how many that count have been said.

    Raises:
        UsageError: If the program does not start, or says nothing for 90 s.
    """
    gain = 0.0
    if wishes.echo_db is not None and tool_rms:
        gain = SPEECH_RMS / tool_rms * 10 ** (wishes.echo_db / 20)
    room.echo(gain)
    room.record()
    noise_db = _QUIET_DB if wishes.snr_db is None else wishes.snr_db
    room.fill(SPEECH_RMS * 10 ** (-noise_db / 20), wishes.seed)
    journal = folder / "journal.sqlite"
    program = Program(
        command or command_for(script, journal, wishes.options),
        room,
        script,
        folder / "errors.txt",
    )
    meter = _Meter(program)
    try:
        talk = _Talk(program, room, Person(script, wishes.seed), wishes, on_hold, on_said)
        talk.go()
        program.process.wait(_LONGEST_CLOSING_S)
    except subprocess.TimeoutExpired as error:
        what = "the program did not end after the last words"
        raise UsageError(what, f"It said: {program.complaint()}") from error
    finally:
        wall_s = time.monotonic() - program.started
        meter.stop()
        program.close()
    status = program.process.returncode
    if status not in {0, 1}:
        what = f"the program under test ended with status {status}: {program.complaint()}"
        raise UsageError(what, f"Try it by hand: voiceflow run {script.path}.")
    time.sleep(0.2)  # what has sounded is being recorded
    recording = room.recording()
    found = exchanges(recording, tuple((one.line, one.at) for one in talk.begun))
    said = tuple(
        Said(
            line=one.line,
            item=one.item,
            is_question=one.is_question,
            heard=tuple(one.heard),
            exchange=where,
        )
        for one, where in zip(talk.begun, found, strict=True)
    )
    events = [event for event, _ in program.since(0)]
    tool = recording[:, TOOL]
    echo_rms = gain * speech_rms(tool, sounding(tool))
    return LiveRun(
        said=said,
        unprompted=tuple(talk.unprompted),
        state=program.state,
        status=status,
        wall_s=wall_s,
        waiting_cpu=talk.waiting_cpu,
        cpu=meter.cpu_s / wall_s,
        rss_mb=tuple(meter.rss_mb),
        lost=sum(isinstance(event, DeviceLost) for event in events),
        returned=sum(isinstance(event, DeviceReturned) for event in events),
        tool_db=20 * math.log10(echo_rms / SPEECH_RMS) if echo_rms else None,
        journal=journal,
        run_id=program.run_id,
    )


class _Meter:
    """Samples what the program costs while it runs."""

    def __init__(self, program: Program) -> None:
        self.rss_mb: list[tuple[float, float]] = []
        self.cpu_s = 0.0
        self._program = program
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._sample, daemon=True)
        self._thread.start()

    def _sample(self) -> None:
        while not self._stop.wait(_SAMPLED_EVERY_S):
            try:
                cpu_s, rss_mb = self._program.cpu_s(), self._program.rss_mb()
            except (OSError, IndexError):
                return  # it has ended
            if not rss_mb:
                continue
            self.cpu_s = cpu_s
            # closing words of hundreds of items are minutes of speech, which no check has
            if self._program.look()[0].phase is not Phase.FINISHED:
                self.rss_mb.append((time.monotonic() - self._program.started, rss_mb))

    def stop(self) -> None:
        """Sample no more."""
        self._stop.set()
        self._thread.join(5)


class _Talk:
    """One conversation with the program, in real time."""

    def __init__(
        self,
        program: Program,
        room: Room,
        person: Person,
        wishes: Wishes,
        on_hold: Callable[[Program], None] | None,
        on_said: Callable[[int], None] | None,
    ) -> None:
        self.begun: list[_Begun] = []
        self.unprompted: list[tuple[str, Decision]] = []
        self.waiting_cpu: float | None = None
        self._program = program
        self._room = room
        self._person = person
        self._wishes = wishes
        self._on_hold = on_hold
        self._on_said = on_said
        self._seen = 0  # events
        self._counted = 0
        self._unplug_at = wishes.unplug_at
        self._is_away = False

    def go(self) -> None:
        """Talk until the check has ended."""
        moved = time.monotonic()
        known = 0
        while True:
            state, piece_since, silent_since, count = self._program.look()
            if state.phase is Phase.FINISHED or not self._program.is_running:
                self._take(None)
                return
            now = time.monotonic()
            if count != known:
                known, moved = count, now
            if now - moved > _STUCK_S + self._wishes.hold_s + self._wishes.waiting_s:
                what = f"the program stopped talking at {state.item_id}"
                raise UsageError(what, f"It said: {self._program.complaint()}")
            self._take(None)
            if not self._turn(state, now, piece_since, silent_since):
                time.sleep(_POLL_S)

    def _turn(self, state: State, now: float, piece_since: float, silent_since: float) -> bool:
        if state.phase is Phase.NOT_STARTED:
            return False
        if state.pieces:
            turn = self._person.over_speech(state, now - piece_since)
            since = now
        else:
            self._do_besides(state)
            turn = self._person.in_silence(state)
            since = silent_since
        if turn is None:
            return False
        self._room.prepare(turn.line.samples)
        # the wait counts from when the tool fell silent, or from now where that is long ago
        time.sleep(max(0.0, max(since + turn.wait_s, now) - time.monotonic()))
        self._say(turn.line, state)
        return True

    def _do_besides(self, state: State) -> None:
        if self.waiting_cpu is None and self._wishes.waiting_s > 0 and state.phase is Phase.ASKING:
            time.sleep(1.0)
            before, began = self._program.cpu_s(), time.monotonic()
            time.sleep(self._wishes.waiting_s)
            used_s = self._program.cpu_s() - before
            self.waiting_cpu = used_s / (time.monotonic() - began)
        if self._unplug_at is not None and state.item_id == self._unplug_at:
            self._unplug_at = None
            self._unplug()
        if state.phase is not Phase.HOLDING:
            self._is_away = False
        elif not self._is_away:
            self._is_away = True
            if self._on_hold is not None:
                self._on_hold(self._program)
            else:
                time.sleep(self._wishes.hold_s)

    def _unplug(self) -> None:
        self._room.unplug_microphone()
        time.sleep(self._wishes.unplugged_s)
        self._room.plug_microphone()
        deadline = time.monotonic() + _STUCK_S
        while time.monotonic() < deadline and self._program.is_running:
            state, *_ = self._program.look()
            back = any(isinstance(event, DeviceReturned) for event, _ in self._program.since(0))
            if back and not state.pieces:
                return
            time.sleep(_POLL_S)

    def _say(self, line: Line, state: State) -> None:
        self._take(None)
        begun = _Begun(
            line=line,
            item=state.item_id or "",
            is_question=state.phase is Phase.CONFIRMING,
            at=self._room.recorded,
        )
        self.begun.append(begun)
        self._room.say()
        self._attend(begun, time.monotonic() + line.end_s)
        if line.counts and line.kind != "none":
            self._counted += 1
            if self._on_said is not None:
                self._on_said(self._counted)

    def _attend(self, begun: _Begun, over: float) -> None:
        """Listen to the reply, until the tool waits for the person again."""
        while self._program.is_running:
            self._take(begun)
            state, *_ = self._program.look()
            now = time.monotonic()
            done = now > over and bool(begun.heard)
            # where nothing is said in reply, an utterance may have more to come
            if state.phase is Phase.FINISHED or (done and not state.person_speaking):
                return
            if now > over + _ANSWERED_WITHIN_S:
                return
            time.sleep(_POLL_S)

    def _take(self, begun: _Begun | None) -> None:
        """Note what was heard: of a line, or while nobody spoke."""
        for event, before in self._program.since(self._seen):
            self._seen += 1
            if not isinstance(event, Heard):
                continue
            item = before.check.item(event.item_id)
            decision = decide(event.utterance, item, before.settings.policy)
            if begun is not None:
                begun.heard.append((event.utterance.meaning, decision))
            elif self.begun and self._is_late(event):
                self.begun[-1].heard.append((event.utterance.meaning, decision))
            else:
                self.unprompted.append((event.utterance.text, decision))

    def _is_late(self, event: Heard) -> bool:
        """Whether an utterance that was heard between lines may be the end of the last one."""
        spoken_s = event.utterance.speech_end_s
        said = self.begun[-1]
        ended = (self._room.recorded - said.at) / RATE_HZ - said.line.end_s
        return event.at_s - spoken_s >= 0 and ended < _ANSWERED_WITHIN_S
