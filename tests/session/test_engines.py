import sys
from pathlib import Path

import pytest
from typing_extensions import override

from tests.fakes import ScriptedRecogniser
from tests.session.rig import preparation
from voiceflow.errors import EngineError, ModelNotFoundError, UsageError
from voiceflow.languages.registry import language
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.session.engines import choose_engine, deafness, transcriber_of


@pytest.fixture(autouse=True)
def _no_models(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep models of this machine's user out of it."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)


def test_without_a_model_pocketsphinx_listens_and_says_why() -> None:
    engine = choose_engine(language("en"), "auto", None)
    assert engine.name == "pocketsphinx"
    assert "no Vosk model" in engine.sentence
    assert "~/.cache/vosk" in engine.sentence.replace("\\", "/")
    assert str(Path.home()) not in engine.sentence
    assert ("AppData" in engine.sentence) == (sys.platform == "win32")


def test_vosk_without_a_model_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ModelNotFoundError):
        choose_engine(language("en"), "vosk", None)
    with pytest.raises(ModelNotFoundError):
        choose_engine(language("en"), "auto", tmp_path / "nowhere")


def test_a_model_that_the_engine_does_not_take_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        choose_engine(language("en"), "pocketsphinx", tmp_path)
    with pytest.raises(UsageError):
        choose_engine(language("en"), "ear", None)


def test_a_language_that_an_engine_cannot_hear_is_refused_unloaded() -> None:
    with pytest.raises(EngineError, match="'ko'"):
        choose_engine(language("ko"), "pocketsphinx", None)


class DeafRecogniser(ScriptedRecogniser):
    """Hears every word but some."""

    def __init__(self, *unheard: str) -> None:
        super().__init__(())
        self._unheard = frozenset(unheard)

    @override
    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        return self._unheard & grammar.vocabulary


def test_what_it_costs_that_words_cannot_be_heard() -> None:
    english = language("en")
    assert deafness(DeafRecogniser("zeppelin"), preparation(), english) is None
    found = deafness(DeafRecogniser("pitot", "cabin", "unable"), preparation(), english)
    assert found is not None
    assert found.words == ("cabin", "pitot", "unable")
    assert found.commands == ("unable",)
    # "unable" is a command at every item
    assert found.items == ("covers", "oxygen", "warning", "door")
    with pytest.raises(EngineError, match=r"item door: .* open"):
        deafness(DeafRecogniser("open"), preparation(), english)


def test_an_engine_that_hears_grammars_only_writes_nothing_down() -> None:
    assert transcriber_of(ScriptedRecogniser(())) is None
