"""Model files: read as the engine writes them, and written as it reads them."""

import struct

import numpy as np
import pytest

from voiceflow.recognition.acoustic_model import (
    features,
    gaussians_file,
    read_cepstra,
    read_gaussians,
    weight_steps,
    weights_file,
    without_mean,
)
from voiceflow.recognition.engines.pocketsphinx import bundled_model, model_folder


def test_what_is_written_is_read() -> None:
    values = np.random.default_rng(1).normal(size=(3, 2, 4, 5)).astype(np.float32)
    assert np.array_equal(read_gaussians(gaussians_file(values.astype(np.float64))), values)


def test_other_files_are_refused() -> None:
    for content in (b"", b"s3\nendhdr\n", b"RIFF" * 20):
        with pytest.raises(ValueError, match="not a file of Gaussians"):
            read_gaussians(content)


def test_the_bundled_model_has_a_codebook_a_phone() -> None:
    model = bundled_model()
    assert len(model.phones) == len(model.means) == 42
    assert model.means.shape == model.variances.shape == (42, 3, 128, 13)
    assert {"SIL", "AA", "Z"} <= set(model.phones)
    assert sum(model.is_speech) == 39  # the phones of the CMU dictionary


def test_the_weights_of_each_senone_add_up_to_one() -> None:
    # a property of any mixture: the steps of the file and their base are read rightly
    total = np.exp(bundled_model().log_weights).sum(axis=1)
    assert np.median(total) == pytest.approx(1, abs=0.1)


def test_the_senones_of_phones_without_context_come_first_three_a_phone() -> None:
    model = bundled_model()
    assert model.phone_of[: 3 * 42].tolist() == [phone for phone in range(42) for _ in range(3)]


def test_means_are_written_in_full() -> None:
    original = (model_folder() / "means").read_bytes()
    assert gaussians_file(bundled_model().means)[-100_000:] == original[-100_004:-4]


def test_the_bundled_weights_are_written_as_they_are() -> None:
    original = (model_folder() / "sendump").read_bytes()
    assert weights_file(original, weight_steps(bundled_model().log_weights)) == original


def test_streams_are_differences() -> None:
    frames = np.arange(10.0)[:, None] ** 2 * np.ones((1, 13))
    middle = features(frames)[5]
    # t*t: (t+2)^2 - (t-2)^2 = 8 t; the difference of (t+3)^2 - (t-1)^2 and one two frames before
    assert middle[0] == pytest.approx(np.full(13, 25))
    assert middle[1] == pytest.approx(np.full(13, 40))
    assert middle[2] == pytest.approx(np.full(13, 16))


def test_the_mean_is_of_frames_with_energy() -> None:
    cepstra = np.array([[2.0, 1.0], [4.0, 3.0], [-9.0, 50.0]])
    assert without_mean(cepstra).tolist() == [[-1, -1], [1, 1], [-12, 48]]
    silent = np.array([[-1.0, 2.0]])
    assert without_mean(silent).tolist() == silent.tolist()


@pytest.mark.parametrize("order", ["<", ">"])
def test_cepstra_are_read_in_either_byte_order(order: str) -> None:
    content = struct.pack(f"{order}i26f", 26, *range(26))
    assert read_cepstra(content).tolist() == np.arange(26.0).reshape(2, 13).tolist()


def test_no_cepstra_are_refused() -> None:
    for content in (b"", b"\0" * 7, struct.pack("<i", 13)):
        with pytest.raises(ValueError, match="not a file of cepstra"):
            read_cepstra(content)
