from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from tests.builders import make_check, make_gauge
from voiceflow.dialogue.actions import Record, Say, Step
from voiceflow.dialogue.events import Event, Utterance
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import State
from voiceflow.evaluation.manifest import Row
from voiceflow.evaluation.run import batches, is_said_aloud
from voiceflow.grammar.meaning import Meaning, NoMatch, Reading


def make_row(file: str, voice: str = "flite slt", snr_db: float | None = None) -> Row:
    return Row(
        path=Path(file),
        file=file,
        part="main",
        check="cockpit-preparation",
        item="crew-oxygen",
        text="",
        voice=voice,
        noise="clean" if snr_db is None else "pink",
        snr_db=snr_db,
        meaning=NoMatch(),
        form="",
        speech_start_s=0.3,
        speech_end_s=1.0,
        how_made="synthetic",
        licence="MIT",
        sha256="",
        line=2,
    )


def heard(meaning: Meaning, confidence: float = 1.0) -> Utterance:
    return Utterance(
        text="words",
        meaning=meaning,
        confidence=confidence,
        engine="test",
        speech_start_s=1.0,
        speech_end_s=2.0,
    )


def test_a_batch_is_one_voice_in_one_noise() -> None:
    rows = [
        make_row("a"),
        make_row("b", "flite awb"),
        make_row("c", snr_db=15),
        make_row("d"),
        make_row("e", snr_db=10),
    ]
    assert [[row.file for row in batch] for batch in batches(rows)] == [
        ["a", "d"],
        ["b"],
        ["c"],
        ["e"],
    ]


def test_the_dialogue_says_each_reading_that_it_records() -> None:
    gauge = make_gauge()
    check = make_check(gauge)
    for value in (1600, 1300, 900):  # within, caution, outside
        for confidence in (1.0, 0.5):  # accepted, put as a question
            utterance = heard(Reading(value=Decimal(value), unit="psi"), confidence)
            assert is_said_aloud(check, gauge, utterance)


def test_a_reading_that_is_recorded_in_silence_is_found() -> None:
    # a dialogue that forgets its readback: the very one, its Say actions left out
    gauge = make_gauge()
    recorded: list[Record] = []

    def forgetful(state: State, event: Event) -> Step:
        step = handle(state, event)
        recorded.extend(action for action in step.actions if isinstance(action, Record))
        kept = tuple(action for action in step.actions if not isinstance(action, Say))
        return replace(step, actions=kept)

    utterance = heard(Reading(value=Decimal(1600), unit="psi"))
    assert not is_said_aloud(make_check(gauge), gauge, utterance, dialogue=forgetful)
    assert recorded
