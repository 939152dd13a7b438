"""Profiles are kept, found again, and refused when they cannot be used."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voiceflow.errors import UsageError
from voiceflow.recognition.profile import (
    OVERRIDE,
    Adapted,
    SpeakerProfile,
    find_profile,
    load_profile,
    profile_folder,
    save_profile,
)

PROFILE = SpeakerProfile(
    name="ann",
    model_digest="ab12",
    phrases=14,
    frames=4000,
    held_out_words=12,
    errors_before=5,
    errors_after=1,
    suppressed=Adapted(
        means=np.arange(24.0).reshape(1, 2, 3, 4),
        weight_steps=np.arange(30, dtype=np.uint8).reshape(2, 3, 5),
    ),
    plain=Adapted(means=np.ones((1, 2, 3, 4)), weight_steps=np.zeros((2, 3, 5), dtype=np.uint8)),
)


def test_what_is_saved_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(OVERRIDE, str(tmp_path))
    save_profile(PROFILE, profile_folder("ann"))
    found = find_profile("ann", "ab12")
    for one, other in (
        (found.suppressed, PROFILE.suppressed),
        (found.plain, PROFILE.plain),
    ):
        assert np.array_equal(one.means, other.means)
        assert np.array_equal(one.weight_steps, other.weight_steps)
    assert found.verdict == PROFILE.verdict
    facts = json.loads((tmp_path / "ann" / "profile.json").read_text("utf-8"))
    assert facts["errors_before"] == 5


def test_it_helps_unless_it_makes_more_errors() -> None:
    assert PROFILE.helps
    assert replace(PROFILE, errors_after=5).helps
    worse = replace(PROFILE, errors_after=6)
    assert not worse.helps
    assert "not kept" in worse.verdict


def test_none_is_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no profile"):
        load_profile(tmp_path / "bob", "ab12")


def test_one_for_another_model_is_refused(tmp_path: Path) -> None:
    save_profile(PROFILE, tmp_path)
    with pytest.raises(UsageError, match="another acoustic model"):
        load_profile(tmp_path, "cd34")


@pytest.mark.parametrize("damage", ["{", "[]", "{}", '{"format": 2}', '{"format": 1}'])
def test_damaged_facts_are_told(tmp_path: Path, damage: str) -> None:
    save_profile(PROFILE, tmp_path)
    (tmp_path / "profile.json").write_text(damage)
    with pytest.raises(UsageError, match=r"cannot be read|damaged"):
        load_profile(tmp_path, "ab12")


@pytest.mark.parametrize("damage", [b"", b"PK\3\4 and no more"])
def test_damaged_means_are_told(tmp_path: Path, damage: bytes) -> None:
    save_profile(PROFILE, tmp_path)
    (tmp_path / "model.npz").write_bytes(damage)
    with pytest.raises(UsageError, match="cannot be read"):
        load_profile(tmp_path, "ab12")


@pytest.mark.parametrize("name", ["", "../ann", "a/b", "."])
def test_a_name_that_leads_elsewhere_is_refused(name: str) -> None:
    with pytest.raises(UsageError, match="cannot be the name"):
        profile_folder(name)
