"""Own words on their way to the engine, and where they are kept."""

from pathlib import Path

import pytest

from voiceflow.checks.model import OwnPronunciation
from voiceflow.errors import CheckFileError
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.pocketsphinx import bundled_pronunciations
from voiceflow.session.vocabulary import (
    OVERRIDE,
    default_own_words,
    find_own_words,
    number_words,
    with_pronunciations,
)


def test_number_words_hold_sign_mark_and_every_digit() -> None:
    words = number_words(language("en"))
    assert {"minus", "point", "decimal", "oh", "niner", "hundred", "thousand", "and"} <= words
    assert {"seven", "seventeen", "seventy"} <= words
    assert not words & {"oxygen", "psi"}
    assert number_words(language("ko"))


def test_own_way_to_say_a_word_comes_after_the_usual_ones() -> None:
    english = language("en")
    own = [
        OwnPronunciation(word="three", phones=("T", "ER", "IY")),
        OwnPronunciation(word="cockpit", phones=("K", "AO", "P", "IH", "T")),
        OwnPronunciation(word="zzyzzx", phones=("Z", "IH", "Z", "IH", "K", "S")),
    ]
    pack = with_pronunciations(english, own)
    assert pack.pronunciations["three"] == (*english.pronunciations["three"], own[0].phones)
    dictionary = tuple(tuple(way.split()) for way in bundled_pronunciations("cockpit"))
    assert pack.pronunciations["cockpit"] == (*dictionary, own[1].phones)
    assert pack.phones("zzyzzx") == (own[2].phones,)
    assert pack.phones("no-such-word") == ()
    assert with_pronunciations(english, []) is english


def test_where_the_personal_file_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(OVERRIDE, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert default_own_words().name == "own-words.yaml"
    assert find_own_words(None) is None
    monkeypatch.setenv(OVERRIDE, str(tmp_path / "mine.yaml"))
    assert default_own_words() == tmp_path / "mine.yaml"
    # named and not there: someone counts on it
    with pytest.raises(CheckFileError):
        find_own_words(None)
    (tmp_path / "mine.yaml").write_text("checks: {}\n", encoding="utf-8")
    assert find_own_words(None) is not None
