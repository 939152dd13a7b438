import json
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.builders import make_gauge
from tests.cli.conftest import Voiceflow
from voiceflow.cli.hear import describe
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.policy import Decision
from voiceflow.grammar.meaning import (
    Ambiguous,
    Command,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.phraseology.commands import CommandName
from voiceflow.session.hearing import Hearing

#: The fields that scripts rely on.
FIELDS = {
    "file",
    "item",
    "engine",
    "heard",
    "kind",
    "state",
    "value",
    "unit",
    "command",
    "decision",
    "confidence",
    "speech_start_s",
    "speech_end_s",
    "decided_s",
    "decode_s",
    "audio_s",
}


def hearing(meaning: Meaning, text: str = "words") -> Hearing:
    utterance = Utterance(
        text=text,
        meaning=meaning,
        confidence=0.8,
        engine="scripted",
        speech_start_s=0.5,
        speech_end_s=1.5,
    )
    return Hearing(utterance=utterance, decision=Decision.ACCEPT, decided_s=2.0, decode_s=0.1)


@pytest.mark.parametrize(
    ("meaning", "fields"),
    [
        (
            Reading(value=Decimal(1600), unit="psi"),
            {"kind": "reading", "value": 1600, "unit": "psi", "command": None},
        ),
        (
            Reading(value=Decimal("29.92"), unit="inHg"),
            {"kind": "reading", "value": 29.92, "unit": "inHg"},
        ),
        (
            Response(phrase="fitted", state=ResponseState.NOT_AS_EXPECTED),
            {"kind": "response", "state": "not_as_expected", "value": None},
        ),
        (Command(name=CommandName.SAY_AGAIN), {"kind": "command", "command": "say-again"}),
        (
            Correction(this=(Reading(value=Decimal(1500), unit="psi"),)),
            {"kind": "command", "command": "correction", "value": 1500},
        ),
        (
            Ambiguous(
                options=(
                    Reading(value=Decimal(1500), unit="psi"),
                    Reading(value=Decimal(150), unit="psi"),
                )
            ),
            {"kind": "none", "value": None},
        ),
        (NoMatch(), {"kind": "none", "state": None}),
    ],
)
def test_each_meaning_has_its_fields(meaning: Meaning, fields: dict[str, object]) -> None:
    row = json.loads(
        json.dumps(
            describe(Path("a.wav"), make_gauge(), "scripted", (hearing(meaning),), audio_s=3.0)
        )
    )
    assert row.keys() >= FIELDS
    assert {name: row[name] for name in fields} == fields
    assert row["decision"] == "accept"


def test_the_first_utterance_with_words_counts() -> None:
    found = (hearing(NoMatch(), text=""), hearing(Command(name=CommandName.AFFIRM)))
    row = describe(Path("a.wav"), make_gauge(), "scripted", found, audio_s=3.0)
    assert row["command"] == "affirm"
    assert row["utterances"] == 2


@pytest.mark.speech
def test_silence_is_nothing(voiceflow: Voiceflow, home: Path) -> None:
    soundfile.write(home / "a.wav", np.zeros(32_000, dtype=np.int16), 16_000)
    result = voiceflow("hear", "small.yaml", "oxygen", "a.wav", "--json")
    assert result.exit_code == 0
    row = json.loads(result.stdout)
    assert row["kind"] == "none"
    assert row["decision"] == "ignore"
    assert row["utterances"] == 0
    assert row["audio_s"] == 2.0
    # which engine listens is said, and why
    assert result.stderr.startswith("Listening with ")
