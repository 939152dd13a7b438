"""Estimation on made-up speakers whose difference from the model is known."""

from dataclasses import replace

import numpy as np
import pytest

from voiceflow.recognition.acoustic_model import AcousticModel
from voiceflow.recognition.adaptation import (
    LEAST_FRAMES,
    Aligned,
    own_means,
    own_weights,
    shares,
    together,
    transformed,
)

PHONES = ("SIL", "AA", "B", "K")
STREAMS, DENSITIES, WIDTH = 2, 6, 3


@pytest.fixture
def model() -> AcousticModel:
    """Four phones with a senone each; the Gaussians lie far apart."""
    draw = np.random.default_rng(1)
    shape = (len(PHONES), STREAMS, DENSITIES, WIDTH)
    return AcousticModel(
        phones=PHONES,
        means=draw.uniform(-40, 40, shape),
        variances=draw.uniform(0.5, 1.5, shape),
        log_weights=np.full((STREAMS, DENSITIES, len(PHONES)), -np.log(DENSITIES)),
        phone_of=np.arange(len(PHONES)),
    )


def speak(model: AcousticModel, senones: list[int], frames: int, seed: int = 2) -> Aligned:
    """Draw frames from a model."""
    draw = np.random.default_rng(seed)
    said = draw.choice(senones, frames)
    density = draw.integers(DENSITIES, size=(frames, STREAMS))
    phone = model.phone_of[said][:, None]
    at = (phone, np.arange(STREAMS), density)
    noise = draw.normal(size=(frames, STREAMS, WIDTH))
    return Aligned(features=model.means[at] + noise * np.sqrt(model.variances[at]), senones=said)


def moved(model: AcousticModel) -> AcousticModel:
    """Move the speech of a model by an affine transform, each stream by its own."""
    draw = np.random.default_rng(3)
    means = model.means.copy()
    for stream in range(STREAMS):
        matrix = np.eye(WIDTH) + draw.uniform(-0.02, 0.02, (WIDTH, WIDTH))
        means[1:, stream] = means[1:, stream] @ matrix.T + draw.uniform(-1, 1, WIDTH)
    return replace(model, means=means)


def test_a_known_transform_is_found_for_sounds_that_were_not_said_too(
    model: AcousticModel,
) -> None:
    speaker = moved(model)
    found = transformed(model, speak(speaker, [1, 2], 4000))
    assert np.abs(model.means[1:] - speaker.means[1:]).max() > 1
    assert np.abs(found.means[1:] - speaker.means[1:]).max() < 0.3


def test_the_estimate_gets_better_with_more_frames(model: AcousticModel) -> None:
    speaker = moved(model)
    errors = [
        np.abs(transformed(model, speak(speaker, [1, 2], n)).means - speaker.means).mean()
        for n in (400, 40_000)
    ]
    assert errors[1] < errors[0] / 3


def test_a_class_with_too_few_frames_stays(model: AcousticModel) -> None:
    found = transformed(model, speak(moved(model), [1], LEAST_FRAMES - 1))
    assert np.array_equal(found.means, model.means)
    spoken = transformed(model, speak(moved(model), [1, 2], LEAST_FRAMES))
    assert np.array_equal(spoken.means[0], model.means[0])
    assert not np.array_equal(spoken.means[1:], model.means[1:])


def test_a_speaker_like_the_model_leaves_it_nearly_as_it_is(model: AcousticModel) -> None:
    found = transformed(model, speak(model, [1, 2, 3], 20_000))
    assert np.abs(found.means[1:] - model.means[1:]).max() < 0.1


def test_own_means_lie_between_the_model_and_the_frames(model: AcousticModel) -> None:
    # one Gaussian, seen in ten frames that all are 1 away from its mean
    one = model.means[1, :, 0]
    features = np.repeat((one + 1)[None], 10, axis=0)
    aligned = Aligned(features=features, senones=np.full(10, 1))
    found = own_means(model, aligned, prior=5.0)
    assert found.means[1, :, 0] == pytest.approx(one + 10 / 15)
    assert found.means[1, :, 1:] == pytest.approx(model.means[1, :, 1:])
    assert np.array_equal(found.means[[0, 2, 3]], model.means[[0, 2, 3]])


def test_every_stream_of_a_frame_is_shared_out_whole(model: AcousticModel) -> None:
    found = shares(model, speak(model, [0, 1, 2, 3], 200))
    assert found.sum(axis=2) == pytest.approx(1)
    assert (found >= 0).all()


def test_joining_keeps_frames_with_their_senones(model: AcousticModel) -> None:
    pieces = [speak(model, [1], 20), speak(model, [2], 30)]
    joined = together(pieces)
    assert joined.features.shape == (50, STREAMS, WIDTH)
    assert joined.senones.tolist() == [1] * 20 + [2] * 30


def test_own_weights_lie_between_the_model_and_what_the_frames_use(model: AcousticModel) -> None:
    one = model.means[1, :, 0]
    aligned = Aligned(features=np.repeat(one[None], 10, axis=0), senones=np.full(10, 1))
    found = np.exp(own_weights(model, aligned, prior=20.0).log_weights)
    assert found.sum(axis=1) == pytest.approx(1)
    assert found[:, 0, 1] == pytest.approx((20 / DENSITIES + 10) / 30)
    assert found[:, 1:, 1] == pytest.approx(20 / DENSITIES / 30)
    assert found[:, :, [0, 2, 3]] == pytest.approx(1 / DENSITIES)
