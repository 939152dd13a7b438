"""Moving an acoustic model towards one speaker: plain estimation, no sound.

Three steps, each by what aligned frames of the speaker say:

1. An affine transform of all means of a class (speech; silence and noises) and stream,
   which maximises the likelihood of the frames. A few seconds of speech move every
   Gaussian, those of sounds that were not said too.
2. Each Gaussian's own mean, between the transformed one and the mean of the frames
   that it explains, by how many these are.
3. In the same way the weights with which each senone uses the Gaussians of its phone.

Sources: C. J. Leggetter and P. C. Woodland, "Maximum likelihood linear regression for
speaker adaptation of continuous density hidden Markov models", Computer Speech and
Language 9 (1995), for the first; J.-L. Gauvain and C.-H. Lee, "Maximum a posteriori
estimation for multivariate Gaussian mixture observations of Markov chains", IEEE Trans.
Speech and Audio Processing 2 (1994), for the others.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from voiceflow.recognition.acoustic_model import AcousticModel, Floats, Integers

#: Frames that a class must have to be transformed; fewer leave it as it is.
LEAST_FRAMES: Final = 300
#: How many frames the transformed mean is worth against the speaker's own.
WEIGHT_OF_PRIOR: Final = 5.0
#: How many frames a senone's weights are worth against those that its frames use.
WEIGHT_OF_PRIOR_WEIGHTS: Final = 20.0
_RIDGE: Final = 1e-6
_SMALLEST_WEIGHT: Final = 1e-11  # about the smallest that the engine's file can hold


@dataclass(frozen=True, slots=True, kw_only=True)
class Aligned:
    """Frames of a speaker, each with the senone that it belongs to.

    Attributes:
        features: Shape (frames, streams, width), as the model's means.
        senones: Shape (frames,).
    """

    features: Floats
    senones: Integers


def together(pieces: Sequence[Aligned]) -> Aligned:
    """Join the frames of several utterances, at least one."""
    return Aligned(
        features=np.concatenate([piece.features for piece in pieces]),
        senones=np.concatenate([piece.senones for piece in pieces]),
    )


def shares(model: AcousticModel, aligned: Aligned) -> Floats:
    """Give how much of each frame each Gaussian of its senone explains.

    Returns:
        Shape (frames, streams, densities); each stream of a frame adds up to 1.
    """
    frames, streams, _ = aligned.features.shape
    found = np.zeros((frames, streams, model.means.shape[2]))
    phones = model.phone_of[aligned.senones]
    for phone in np.unique(phones):
        rows = np.flatnonzero(phones == phone)
        for stream in range(streams):
            variances = model.variances[phone, stream]
            away = aligned.features[rows, stream][:, None] - model.means[phone, stream]
            score = -0.5 * (away**2 / variances + np.log(variances)).sum(axis=-1)
            score += model.log_weights[stream][:, aligned.senones[rows]].T
            weight = np.exp(score - score.max(axis=1, keepdims=True))
            found[rows, stream] = weight / weight.sum(axis=1, keepdims=True)
    return found


def transformed(model: AcousticModel, aligned: Aligned) -> AcousticModel:
    """Give the model with the affine transform of its means that suits the frames best.

    One transform for each stream of the codebooks of speech, one for those of silence
    and noises. A class with fewer than ``LEAST_FRAMES`` frames is left as it is.
    """
    means = model.means.copy()
    explained = shares(model, aligned)
    phones = model.phone_of[aligned.senones]
    for wanted in (True, False):
        codebooks = np.flatnonzero(model.is_speech == wanted)
        if np.isin(phones, codebooks).sum() < LEAST_FRAMES:
            continue
        for stream in range(model.means.shape[1]):
            matrix = _regression(model, aligned, explained, codebooks, stream)
            for codebook in codebooks:
                means[codebook, stream] = _extended(model.means[codebook, stream]) @ matrix.T
    return replace(model, means=means)


def own_means(
    model: AcousticModel, aligned: Aligned, prior: float = WEIGHT_OF_PRIOR
) -> AcousticModel:
    """Give the model with each mean drawn towards the frames that its Gaussian explains.

    Args:
        model: Whose means come first.
        aligned: The speaker's frames.
        prior: How many frames the model's mean is worth, above 0.
    """
    means = model.means.copy()
    explained = shares(model, aligned)
    phones = model.phone_of[aligned.senones]
    for phone in np.unique(phones):
        rows = np.flatnonzero(phones == phone)
        for stream in range(means.shape[1]):
            weight = explained[rows, stream]
            total = weight.T @ aligned.features[rows, stream]
            before = model.means[phone, stream]
            means[phone, stream] = (prior * before + total) / (prior + weight.sum(axis=0))[:, None]
    return replace(model, means=means)


def own_weights(
    model: AcousticModel, aligned: Aligned, prior: float = WEIGHT_OF_PRIOR_WEIGHTS
) -> AcousticModel:
    """Give the model with the weights of each senone drawn towards what the frames use.

    Args:
        model: Whose weights come first.
        aligned: The speaker's frames; senones without any keep their weights.
        prior: How many frames the model's weights are worth, above 0.
    """
    log_weights = model.log_weights.copy()
    explained = shares(model, aligned)
    for senone in np.unique(aligned.senones):
        rows = aligned.senones == senone
        before = np.exp(model.log_weights[:, :, senone])
        before /= before.sum(axis=1, keepdims=True)
        drawn = (prior * before + explained[rows].sum(axis=0)) / (prior + rows.sum())
        log_weights[:, :, senone] = np.log(np.maximum(drawn, _SMALLEST_WEIGHT))
    return replace(model, log_weights=log_weights)


def _extended(means: Floats) -> Floats:
    """Put a 1 before each mean, for the constant part of the transform."""
    return np.concatenate([np.ones((len(means), 1)), means], axis=1)


def _regression(
    model: AcousticModel, aligned: Aligned, explained: Floats, codebooks: Integers, stream: int
) -> Floats:
    """Give the transform of one class and stream, shape (width, 1 + width).

    Row by row: the covariances are diagonal, so each row has its own linear system.
    """
    width = model.means.shape[3]
    left = np.zeros((width, 1 + width, 1 + width))
    right = np.zeros((width, 1 + width))
    phones = model.phone_of[aligned.senones]
    for codebook in np.intersect1d(codebooks, phones):
        rows = np.flatnonzero(phones == codebook)
        weight = explained[rows, stream]
        count, total = weight.sum(axis=0), weight.T @ aligned.features[rows, stream]
        extended = _extended(model.means[codebook, stream])
        precision = 1.0 / model.variances[codebook, stream]
        left += np.einsum("gr,gi,gj->rij", count[:, None] * precision, extended, extended)
        right += (precision * total).T @ extended
    left += _RIDGE * np.eye(1 + width)
    return np.linalg.solve(left, right[:, :, None])[:, :, 0]
