"""What noise does to a model: on made-up frames with a known answer, and the shipped file."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voiceflow.recognition import noise_adaptation
from voiceflow.recognition.acoustic_model import AcousticModel
from voiceflow.recognition.engines.pocketsphinx import bundled_model
from voiceflow.recognition.noise_adaptation import (
    FILE,
    NoiseTransform,
    Transform,
    as_data,
    estimate,
    from_data,
    shipped_transforms,
)

SHIPPED = Path(noise_adaptation.__file__).with_name(FILE)
WIDTH = 3


def made_up_model() -> AcousticModel:
    dice = np.random.default_rng(2)
    return AcousticModel(
        phones=("AH", "SIL"),
        means=dice.normal(size=(2, 1, 4, WIDTH)),
        variances=dice.uniform(0.5, 1.0, size=(2, 1, 4, WIDTH)),
        log_weights=np.zeros((1, 4, 2)),
        phone_of=np.array([0, 1]),
    )


def nothing_changed() -> Transform:
    return Transform(matrix=np.eye(WIDTH), offset=np.zeros(WIDTH), blur=np.zeros(WIDTH))


def test_the_transform_that_was_put_in_is_found() -> None:
    dice = np.random.default_rng(1)
    clean = dice.normal(size=(200_000, WIDTH))
    matrix = np.array([[0.6, 0.1, 0.0], [0.0, 0.7, -0.1], [0.05, 0.0, 0.8]])
    blur = np.array([0.2, 0.1, 0.4])
    noisy = clean @ matrix + [1.0, -2.0, 0.5] + dice.normal(size=clean.shape) * np.sqrt(blur)
    found = estimate(clean, noisy)
    assert found.matrix == pytest.approx(matrix, abs=0.01)
    assert found.offset == pytest.approx([1.0, -2.0, 0.5], abs=0.02)
    assert found.blur == pytest.approx(blur, rel=0.05)


def test_few_frames_change_little() -> None:
    found = estimate(np.ones((3, WIDTH)), np.full((3, WIDTH), 9.0))
    assert found.matrix == pytest.approx(np.eye(WIDTH), abs=0.2)


def test_means_move_and_variances_widen_by_class() -> None:
    model = made_up_model()
    speech = Transform(matrix=0.5 * np.eye(WIDTH), offset=np.ones(WIDTH), blur=np.full(WIDTH, 2.0))
    moved = NoiseTransform(speech=(speech,), silence=(nothing_changed(),)).moved(model)
    assert moved.means[0] == pytest.approx(0.5 * model.means[0] + 1)
    assert moved.variances[0] == pytest.approx(0.25 * model.variances[0] + 2)
    assert moved.means[1] == pytest.approx(model.means[1])
    assert moved.variances[1] == pytest.approx(model.variances[1])
    assert moved.log_weights is model.log_weights


def test_a_file_gives_back_what_was_written() -> None:
    one = replace(nothing_changed(), offset=np.array([0.25, -1.5, 3.0]))
    both = NoiseTransform(speech=(one,), silence=(nothing_changed(),))
    (again,) = from_data(json.loads(json.dumps(as_data([both]))))
    assert again.speech[0].offset == pytest.approx(one.offset)
    assert again.silence[0].matrix == pytest.approx(np.eye(WIDTH))


def test_what_is_shipped_fits_the_bundled_model_and_says_where_it_is_from() -> None:
    shipped = json.loads(SHIPPED.read_text(encoding="utf-8"))
    trained = {"flite slt", "flite rms", "espeak-ng en-gb"}
    assert {voice.partition("+")[0] for voice in shipped["voices"]} <= trained
    assert all(count > 1000 for count in shipped["frames of 10 ms"])
    assert len(shipped_transforms()) == 2
    model = bundled_model()
    for transform in shipped_transforms():
        moved = transform.moved(model)
        assert moved.means.shape == model.means.shape
        assert (moved.variances > 0).all()
        # noise hides differences: what is heard in it lies closer together
        assert moved.means[model.is_speech].std() < model.means[model.is_speech].std()
