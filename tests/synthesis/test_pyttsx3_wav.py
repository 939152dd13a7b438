import ctypes
from dataclasses import replace
from threading import Thread

import numpy as np
import pytest

from voiceflow.audio.frames import Samples
from voiceflow.errors import SynthesisError
from voiceflow.languages.registry import known_languages, language
from voiceflow.synthesis.cache import CachedSynthesiser
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser
from voiceflow.synthesis.trim import trim


def test_every_language_pack_has_a_voice() -> None:
    for code in known_languages():
        pack = language(code)
        words = pack.read_unit("psi")
        assert len(Pyttsx3Synthesiser(pack).synthesise(words, 170)) > 0


def test_a_voice_that_is_not_there_is_named() -> None:
    pack = replace(language("en"), voice_id="gmw/none", code="qq")
    with pytest.raises(SynthesisError, match="gmw/none"):
        Pyttsx3Synthesiser(pack)


def test_nothing_leaks_to_standard_output(capfd: pytest.CaptureFixture[str]) -> None:
    Pyttsx3Synthesiser(language("en")).synthesise("removed", 170)
    assert capfd.readouterr() == ("", "")


def test_finding_the_library_leaves_ctypes_as_it_was() -> None:
    Pyttsx3Synthesiser(language("en"))
    assert "LoadLibrary" not in vars(ctypes.cdll)


def test_threads_wait_for_each_other() -> None:
    voice = Pyttsx3Synthesiser(language("en"))
    lengths: list[int] = []
    threads = [
        Thread(target=lambda: lengths.append(len(voice.synthesise("both removed", 170))))
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert max(lengths) == pytest.approx(min(lengths), rel=0.02)


class Counting:
    """Makes as many samples as there are letters, and counts."""

    def __init__(self) -> None:
        self.calls = 0

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        self.calls += 1
        return np.full(len(words), rate_wpm, dtype=np.int16)


def test_the_cache_makes_each_speech_once_and_forgets_the_oldest() -> None:
    inner = Counting()
    cached = CachedSynthesiser(inner, capacity_samples=10)
    for words, rate, calls in (
        ("aaaa", 170, 1),
        ("aaaa", 170, 1),
        ("aaaa", 120, 2),
        ("aaaa", 170, 2),
        ("bbbb", 170, 3),  # the slow "aaaa" was used least recently, and goes
        ("aaaa", 170, 3),
        ("aaaa", 120, 4),
    ):
        assert set(cached.synthesise(words, rate)) == {rate}
        assert inner.calls == calls


def test_trimming_keeps_the_sound() -> None:
    quiet = np.zeros(5000, dtype=np.int16)
    loud = np.full(100, 5000, dtype=np.int16)
    assert len(trim(np.concatenate((quiet, loud, quiet)))) == 100 + 2 * 800
    np.testing.assert_array_equal(trim(loud), loud)
    assert len(trim(quiet)) == 0


def test_another_voice_is_taken_by_its_name_only() -> None:
    pack = language("en")
    usual = Pyttsx3Synthesiser(pack).synthesise("both removed", 170)
    other = Pyttsx3Synthesiser(pack, "gmw/de").synthesise("both removed", 170)
    assert len(other) > 0
    assert len(other) != len(usual)
    # not the next best of the same language: it was asked for by name
    with pytest.raises(SynthesisError, match=r"no voice 'captain'.*gmw/en") as caught:
        Pyttsx3Synthesiser(pack, "captain")
    assert "Choose another" in str(caught.value)


def test_a_voice_made_after_another_speaks_at_its_own_rate() -> None:
    """An engine made anew lets its usual rate slip into the first words."""
    lengths = [
        len(Pyttsx3Synthesiser(language("en")).synthesise("crew oxygen, one six five zero", 170))
        for _ in range(20)
    ]
    assert min(lengths) > 0.97 * max(lengths)
