from pathlib import Path

import pytest

from voiceflow.errors import ModelNotFoundError, UsageError
from voiceflow.languages.registry import language
from voiceflow.session.engines import LateRecogniser, choose_engine


@pytest.fixture(autouse=True)
def _no_models(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep models of this machine's user out of it."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)


def test_without_a_model_pocketsphinx_listens_and_says_why() -> None:
    engine = choose_engine(language("en"), "auto", None)
    assert engine.name == "pocketsphinx"
    assert "no Vosk model" in engine.sentence


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


def test_an_engine_is_not_loaded_before_it_listens() -> None:
    engine = choose_engine(language("en"), "pocketsphinx", None)
    late = LateRecogniser(engine)
    assert late.name == "pocketsphinx"
    late.close()
