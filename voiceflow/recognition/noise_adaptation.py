"""The acoustic model in loud noise: how noise that was filtered moves and blurs what is heard.

A filter takes most of a steady noise off, and changes the speech that is left. What it
does to the cepstra is much the same for every voice, so it is learnt once, from speech
heard both clean and in noise, and then put on any model, as it comes or adapted to a
speaker: an affine transform of its means, and for its variances the same transform and
what the transform cannot tell. The figures are data (``noise_transform.json``), made by
``python -m voiceflow.evaluation.noise_training``. Plain arithmetic; no engine.

Without the wider variances the moved means are worse than none: 53 instead of 86 of 120
readings were heard right by both front ends at 10 dB, with them 90; one transform a phone
instead of one for all speech: 53, because it learns the voices.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any, Final

import numpy as np

from voiceflow.recognition.acoustic_model import AcousticModel, Floats

FILE: Final = "noise_transform.json"
#: Weight that draws the matrix to one that changes nothing, in frames.
_RIDGE: Final = 300.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Transform:
    """What noise does to the Gaussians of one class in one stream.

    Attributes:
        matrix: Shape (width, width): the moved mean is mean @ matrix + offset.
        offset: Shape (width,), in units of the cepstra.
        blur: Shape (width,): variance that is added, in their squares.
    """

    matrix: Floats
    offset: Floats
    blur: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseTransform:
    """What noise does to a whole model.

    Attributes:
        speech: One for each stream, for the codebooks of speech.
        silence: The same for those of silence and noises.
    """

    speech: tuple[Transform, ...]
    silence: tuple[Transform, ...]

    def moved(self, model: AcousticModel) -> AcousticModel:
        """Give the model as it is in noise."""
        means, variances = model.means.copy(), model.variances.copy()
        for codebook, is_speech in enumerate(model.is_speech):
            for stream, one in enumerate(self.speech if is_speech else self.silence):
                means[codebook, stream] = model.means[codebook, stream] @ one.matrix + one.offset
                variances[codebook, stream] = (
                    model.variances[codebook, stream] @ one.matrix**2 + one.blur
                )
        return replace(model, means=means, variances=variances)


def estimate(clean: Floats, noisy: Floats) -> Transform:
    """Give the transform that takes clean frames to the same frames in noise.

    Args:
        clean: Shape (frames, width).
        noisy: The same shape; least squares, drawn towards no change at all.
    """
    frames, width = clean.shape
    extended = np.concatenate([np.ones((frames, 1)), clean], axis=1)
    unchanged = np.concatenate([np.zeros((1, width)), np.eye(width)])
    left = extended.T @ extended + _RIDGE * np.eye(width + 1)
    found = np.linalg.solve(left, extended.T @ noisy + _RIDGE * unchanged)
    rest = noisy - extended @ found
    return Transform(matrix=found[1:], offset=found[0], blur=np.mean(rest**2, axis=0))


def as_data(transforms: Sequence[NoiseTransform]) -> list[dict[str, Any]]:
    """Give the transforms of the front ends as plain lists, for the file."""

    def plain(one: Transform) -> dict[str, Any]:
        return {
            "offset": np.round(one.offset, 4).tolist(),
            "blur": np.round(one.blur, 4).tolist(),
            "matrix": np.round(one.matrix, 4).tolist(),
        }

    return [
        {
            "speech": [plain(one) for one in both.speech],
            "silence": [plain(one) for one in both.silence],
        }
        for both in transforms
    ]


def from_data(data: Sequence[dict[str, Any]]) -> tuple[NoiseTransform, ...]:
    """Read what ``as_data`` gave."""

    def whole(one: dict[str, Any]) -> Transform:
        return Transform(
            matrix=np.array(one["matrix"], dtype=np.float64),
            offset=np.array(one["offset"], dtype=np.float64),
            blur=np.array(one["blur"], dtype=np.float64),
        )

    return tuple(
        NoiseTransform(
            speech=tuple(whole(one) for one in both["speech"]),
            silence=tuple(whole(one) for one in both["silence"]),
        )
        for both in data
    )


@cache
def shipped_transforms() -> tuple[NoiseTransform, ...]:
    """Give those that come with the program: of the first front end and of the second."""
    text = files("voiceflow.recognition").joinpath(FILE).read_text(encoding="utf-8")
    return from_data(json.loads(text)["front ends"])
