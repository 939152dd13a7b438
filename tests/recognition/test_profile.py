"""Profiles are kept, found again, and refused when they cannot be used."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voiceflow.errors import UsageError
from voiceflow.recognition.levels import Levels
from voiceflow.recognition.profile import (
    OVERRIDE,
    USUAL_LOG_ODDS,
    Adapted,
    FrontEnd,
    SpeakerProfile,
    Sureness,
    find_profile,
    load_profile,
    profile_folder,
    save_profile,
)

PROFILE = SpeakerProfile(
    name="ann",
    model_digest="ab12",
    phrases=14,
    sound_s=40.5,
    held_out_words=56,
    levels=Levels(speech_dbfs=-24.0, noise_dbfs=-61.5, clipped_percent=0.01),
    sureness=Sureness(
        sure_log_odds=4.7,
        right_count=10,
        right_mean=5.7,
        right_deviation=1.0,
        wrong_count=19,
        wrong_mean=3.8,
        wrong_deviation=1.8,
    ),
    suppressed=FrontEnd(
        cepstral_mean=tuple(float(number) for number in range(13)),
        errors_before=5,
        errors_after=1,
        adapted=Adapted(
            means=np.arange(24.0).reshape(1, 2, 3, 4),
            weight_steps=np.arange(30, dtype=np.uint8).reshape(2, 3, 5),
        ),
    ),
    plain=FrontEnd(
        cepstral_mean=(0.5,) * 13,
        errors_before=4,
        errors_after=4,
        adapted=Adapted(
            means=np.ones((1, 2, 3, 4)), weight_steps=np.zeros((2, 3, 5), dtype=np.uint8)
        ),
    ),
)


def test_what_is_saved_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(OVERRIDE, str(tmp_path))
    saved = save_profile(PROFILE, profile_folder("ann"))
    found = find_profile("ann", "ab12")
    for one, other in ((found.suppressed, PROFILE.suppressed), (found.plain, PROFILE.plain)):
        assert one.adapted is not None
        assert other.adapted is not None
        assert np.array_equal(one.adapted.means, other.adapted.means)
        assert np.array_equal(one.adapted.weight_steps, other.adapted.weight_steps)
        assert one.cepstral_mean == other.cepstral_mean
    assert found.verdict == PROFILE.verdict
    assert (found.levels, found.sureness) == (PROFILE.levels, PROFILE.sureness)
    assert found.digest == saved.digest
    assert len(found.digest) == 64
    facts = json.loads((tmp_path / "ann" / "profile.json").read_text("utf-8"))
    assert facts["levels"]["snr_db"] == 37.5
    assert facts["sureness_of_readings"]["sure_log_odds"] == 4.7


def test_a_front_end_without_adaptation_has_no_model(tmp_path: Path) -> None:
    save_profile(replace(PROFILE, plain=replace(PROFILE.plain, adapted=None)), tmp_path)
    found = load_profile(tmp_path, "ab12")
    assert found.plain.adapted is None
    assert found.suppressed.adapted is not None
    assert found.is_adapted
    assert "is left out" in replace(PROFILE, suppressed=found.plain).verdict


def test_the_digest_tells_another_sound_check(tmp_path: Path) -> None:
    one = save_profile(PROFILE, tmp_path / "ann")
    other = save_profile(replace(PROFILE, suppressed=PROFILE.plain), tmp_path / "bob")
    assert one.digest != other.digest
    assert save_profile(PROFILE, tmp_path / "ann").digest == one.digest


def test_usual_log_odds_are_those_of_the_policy() -> None:
    assert 1 / (1 + math.exp(-USUAL_LOG_ODDS)) == pytest.approx(0.9)


def test_none_is_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no profile"):
        load_profile(tmp_path / "bob", "ab12")


def test_one_for_another_model_is_refused(tmp_path: Path) -> None:
    save_profile(PROFILE, tmp_path)
    with pytest.raises(UsageError, match="another acoustic model"):
        load_profile(tmp_path, "cd34")


def test_one_of_an_earlier_version_asks_for_the_sound_check(tmp_path: Path) -> None:
    folder = tmp_path / "ann"
    save_profile(PROFILE, folder)
    old = {"format": 1, "name": "ann", "model_digest": "ab12", "phrases": 14, "frames": 4000}
    (folder / "profile.json").write_text(json.dumps(old))
    with pytest.raises(UsageError, match="another version") as told:
        load_profile(folder, "ab12")
    assert "voiceflow mic --sound-check ann" in told.value.remedy


@pytest.mark.parametrize("damage", ["{", "[]", "{}", "3", '{"format": 2}', '{"format": null}'])
def test_damaged_facts_are_told(tmp_path: Path, damage: str) -> None:
    save_profile(PROFILE, tmp_path)
    (tmp_path / "profile.json").write_text(damage)
    with pytest.raises(UsageError, match=r"cannot be read|another version"):
        load_profile(tmp_path, "ab12")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("levels", {}),
        ("sureness_of_readings", {"sure_log_odds": 1}),
        ("front_ends", {}),
        ("phrases", "many"),
    ],
)
def test_facts_that_make_no_profile_are_told(tmp_path: Path, field: str, value: object) -> None:
    save_profile(PROFILE, tmp_path)
    path = tmp_path / "profile.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {field: value}))
    with pytest.raises(UsageError, match="cannot be read"):
        load_profile(tmp_path, "ab12")


@pytest.mark.parametrize("damage", [b"", b"PK\3\4 and no more"])
def test_damaged_means_are_told(tmp_path: Path, damage: bytes) -> None:
    save_profile(PROFILE, tmp_path)
    (tmp_path / "model.npz").write_bytes(damage)
    with pytest.raises(UsageError, match="is damaged"):
        load_profile(tmp_path, "ab12")


@pytest.mark.parametrize("name", ["", "../ann", "a/b", ".", "none"])
def test_a_name_that_leads_elsewhere_is_refused(name: str) -> None:
    with pytest.raises(UsageError, match="cannot be the name"):
        profile_folder(name)
