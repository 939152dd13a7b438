from pathlib import Path

import pytest

from voiceflow.journal.place import default_journal


def test_environment_names_another_journal(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("VOICEFLOW_JOURNAL", str(tmp_path / "j.sqlite"))
    assert default_journal() == tmp_path / "j.sqlite"


def test_usual_place_is_the_users_data_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("VOICEFLOW_JOURNAL", raising=False)
    usual = default_journal()
    assert usual.is_absolute()
    assert usual.name == "journal.sqlite"
    assert usual.parent.name == "voiceflow"
    monkeypatch.setenv("VOICEFLOW_JOURNAL", "")
    assert default_journal() == usual
