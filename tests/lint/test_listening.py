"""The simulated listening test, with a scripted ear and a beeping voice; one small real run."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import welch

from tests.fakes import ScriptedRecogniser
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check
from voiceflow.errors import UsageError
from voiceflow.grammar.meaning import Command, Reading, Response, ResponseState
from voiceflow.languages.registry import language
from voiceflow.lint.listening import trial as trials
from voiceflow.lint.listening.confusions import RULE, Confusion, confusions, find, label
from voiceflow.lint.listening.noise import in_noise, pink
from voiceflow.lint.listening.picture import draw
from voiceflow.lint.listening.sayings import Saying, sayings, spread
from voiceflow.lint.listening.trial import (
    WARM_UP,
    Condition,
    Conditions,
    Trial,
    all_sayings,
    hear_condition,
    listen,
)
from voiceflow.lint.subject import Subject
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName
from voiceflow.session.vocabulary import read_own_check
from voiceflow.synthesis.cache import CachedSynthesiser
from voiceflow.synthesis.synthesiser import Synthesiser
from voiceflow.synthesis.trim import trim

CHECK = """\
check: small
title: Small check
kind: flow
aircraft: Skerry 42
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: door
    challenge: Cabin door
    expect: [latched, closed and latched]
    not_as_expected: [standing open]
  - id: oil
    challenge: Oil
    reading: {names: [oil], unit: qt, scale: {from: 0, to: 20, step: 1}, minimum: 5}
"""
FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
ONE = Conditions(voices=("voice",), readings=3, forms=1)
HERE = Condition(voice="voice", rate_wpm=150, snr_db=15.0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "small.yaml"
    path.write_text(CHECK, encoding="utf-8")
    return path


def trial(text: str, heard: Response | Reading | Command | None, snr_db: float = 30.0) -> Trial:
    state = ResponseState.NOT_AS_EXPECTED if text == "standing open" else ResponseState.AS_EXPECTED
    return Trial(
        saying=Saying(item_id="door", text=text, meaning=Response(phrase=text, state=state)),
        voice="gmw/en-us",
        rate_wpm=150,
        snr_db=snr_db,
        heard=heard,
        words="",
    )


LATCHED = Response(phrase="latched", state=ResponseState.AS_EXPECTED)
CLOSED = Response(phrase="closed and latched", state=ResponseState.AS_EXPECTED)
OPEN = Response(phrase="standing open", state=ResponseState.NOT_AS_EXPECTED)


# --- what is said ---


def test_every_response_is_said_and_readings_over_the_gauge(path: Path) -> None:
    check = load_check(path)
    found = all_sayings(check, ("door", "oil"), ONE)
    assert [saying.text for saying in found if saying.item_id == "door"] == [
        "latched",
        "closed and latched",
        "standing open",
    ]
    values = [each.meaning.value for each in found if isinstance(each.meaning, Reading)]
    assert values == [0, 10, 20]


def test_every_value_has_other_forms(path: Path) -> None:
    pack = language("en")
    item = load_check(path).item("oil")
    found = list(sayings(item, pack, readings=21, forms=2))
    assert item.reading is not None
    for saying in found:
        assert isinstance(saying.meaning, Reading)
        forms = pack.spoken_forms(saying.meaning.value, item.reading.scale)
        assert pack.tokenise(saying.text) in forms
    assert len({saying.text for saying in found}) == len(found)
    assert any("niner" in saying.text for saying in found)
    assert any("nine" in saying.text.split() for saying in found)


@pytest.mark.parametrize(("count", "marks"), [(1, [0]), (2, [0, 10]), (3, [0, 5, 10]), (99, None)])
def test_spread_takes_the_ends(count: int, marks: list[int] | None) -> None:
    scale = Scale(lowest=Decimal(0), highest=Decimal(10), step=Decimal(1))
    assert list(spread(scale, count)) == (marks if marks is not None else list(range(11)))


# --- noise ---


def test_pink_noise_falls_three_decibels_an_octave() -> None:
    # outside reference: scipy's Welch estimate of the spectrum
    frequencies, power = welch(pink(RATE_HZ * 20, np.random.default_rng(1)), RATE_HZ, nperseg=4096)
    inside = (frequencies > 50) & (frequencies < 6000)
    slope, _ = np.polyfit(np.log2(frequencies[inside]), 10 * np.log10(power[inside]), 1)
    assert slope == pytest.approx(-3.01, abs=0.15)


def test_speech_lies_so_much_above_the_noise() -> None:
    speech = (8000 * np.sin(np.arange(RATE_HZ) / 5)).astype(np.int16)
    for snr_db in (30.0, 15.0, 0.0):
        track = in_noise(speech, snr_db, 1).astype(float)
        tail = track[-RATE_HZ // 2 :]
        middle = track[RATE_HZ // 2 : RATE_HZ]
        ratio = (np.mean(middle**2) - np.mean(tail**2)) / np.mean(tail**2)
        assert 10 * np.log10(ratio) == pytest.approx(snr_db, abs=2.5)
    assert np.array_equal(in_noise(speech, 15.0, 1), in_noise(speech, 15.0, 1))
    assert not np.array_equal(in_noise(speech, 15.0, 1), in_noise(speech, 15.0, 2))
    assert len(in_noise(speech[:0], 15.0, 1)) > 0


# --- counting ---


class RecordedSynthesiser:
    """Says the same recorded words whatever it is to say: something for the endpointer."""

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        return trim(read_recording(FIXTURES / "commands" / "001-crash-axe-slt.flac"))


def test_trials_follow_the_script(path: Path) -> None:
    check = load_check(path)
    said = ["closed and latched", "standing open", "roger", "zero", "one six", ""]
    recogniser = ScriptedRecogniser([*["latched"] * WARM_UP, *said])
    made = list(
        hear_condition(check, ("door", "oil"), ONE, HERE, RecordedSynthesiser(), recogniser)
    )
    assert [(each.saying.text, each.words, each.is_right, each.is_mixed_up) for each in made] == [
        ("latched", "closed and latched", True, False),
        ("closed and latched", "standing open", False, True),
        ("standing open", "roger", False, True),
        ("zero", "zero", True, False),
        (made[4].saying.text, "one six", False, True),
        (made[5].saying.text, "", False, False),
    ]
    assert made[2].heard == Command(name=CommandName.ROGER)
    assert {(each.voice, each.rate_wpm, each.snr_db) for each in made} == {("voice", 150, 15.0)}
    # six before the test begins, of both items in turn
    assert recogniser.grammars[: WARM_UP + 1] == [*["door", "oil"] * (WARM_UP // 2), "door"]


def test_one_response_of_a_state_is_as_good_as_another() -> None:
    assert trial("latched", CLOSED).is_right
    assert trial("latched", OPEN).is_mixed_up
    assert trial("latched", Command(name=CommandName.ROGER)).is_mixed_up
    asked = trial("latched", None)
    assert not asked.is_right
    assert not asked.is_mixed_up


def test_confusions_are_counted_with_their_conditions() -> None:
    found = confusions(
        [
            trial("latched", OPEN),
            trial("latched", OPEN, 15.0),
            trial("latched", LATCHED),
            trial("latched", None),
            trial("standing open", Command(name=CommandName.ROGER)),
            trial("standing open", OPEN),
        ]
    )
    assert [(each.said, each.heard, each.count, each.of, each.share) for each in found] == [
        ("latched", "standing open", 2, 4, 0.5),
        ("standing open", "command roger", 1, 2, 0.5),
    ]
    assert found[0].where == (("en-us 150 wpm 30 dB", 1), ("en-us 150 wpm 15 dB", 1))


def test_what_is_mixed_up_often_is_a_finding_at_the_phrase(path: Path) -> None:
    subject = Subject(read=read_own_check(path, None, None), language=language("en"))

    def finding(share: float, count: int, meaning: Response | Reading) -> list[tuple[int, int]]:
        one = Confusion(
            item_id="oil" if isinstance(meaning, Reading) else "door",
            said=label(meaning),
            heard="other",
            count=count,
            of=round(count / share),
            where=(("here", count),),
            meaning=meaning,
        )
        found = list(find(subject, [one], least_share=0.2))
        assert all(problem.rule == RULE for problem in found)
        return [(problem.line, problem.column) for problem in found]

    assert finding(0.5, 2, CLOSED) == [(9, 23)]
    assert finding(0.25, 3, Reading(value=Decimal(5), unit="qt")) == [(13, 46)]
    assert finding(0.1, 2, CLOSED) == []
    assert finding(1.0, 1, CLOSED) == []


# --- the picture ---


def test_picture_shows_every_item(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    trials = [trial("latched", OPEN), trial("latched", LATCHED), trial("standing open", None)]
    svg, png = tmp_path / "a.svg", tmp_path / "a.png"
    draw(trials, svg, title="Small check")
    draw(trials, png, title="Small check")
    assert "<svg" in svg.read_text(encoding="utf-8")
    assert png.read_bytes().startswith(b"\x89PNG")
    again = tmp_path / "b.svg"
    draw(trials, again, title="Small check")
    assert again.read_bytes() == svg.read_bytes()
    with pytest.raises(UsageError, match=r"\.svg"):
        draw(trials, tmp_path / "a.txt", title="")
    with pytest.raises(UsageError, match="cannot be written"):
        draw(trials, tmp_path / "none" / "a.svg", title="")


def test_without_matplotlib_the_message_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "matplotlib", None)
    with pytest.raises(UsageError, match=r"voiceflow\[pictures\]"):
        draw([trial("latched", OPEN)], tmp_path / "a.svg", title="")


# --- the real thing, small ---


@pytest.mark.speech
@pytest.mark.slow
def test_clear_words_are_heard_right_and_the_same_each_time(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # eSpeak lets its voice waver a little from one time to the next: the same sound is
    # what is to be heard alike
    voices: dict[str, Synthesiser] = {}
    make = trials._synthesiser

    def kept(check: Check, voice: str) -> Synthesiser:
        return voices.setdefault(voice, CachedSynthesiser(make(check, voice)))

    monkeypatch.setattr(trials, "_synthesiser", kept)
    check = load_check(path)
    conditions = Conditions(
        voices=("gmw/en-us",), snrs_db=(30.0,), readings=2, forms=1, engine="pocketsphinx"
    )
    told: list[int] = []
    first = listen(check, ("door", "oil"), conditions, on_done=told.append)
    assert told == [1, 2, 3, 4, 5]
    assert sum(each.is_right for each in first) >= 4
    again = listen(check, ("door", "oil"), replace(conditions, voices=("gmw/en-us", "gmw/en")))
    assert [each for each in again if each.voice == "gmw/en-us"] == list(first)
