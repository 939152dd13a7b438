"""The Gaussians of a phonetically tied acoustic model: reading them, and writing means.

Only what adaptation to a speaker needs. Each phone has a codebook of Gaussians for
each of three streams (cepstra, their differences, the differences of those); the
senones, the states of phones in context, share the codebook of their phone and differ
in its weights. Nothing here is heard or estimated.

The binary formats are those of the bundled engine's model files: ``means`` and
``variances`` are a text header that ends in "endhdr", a byte-order word, four counts,
and float32 values; ``sendump`` holds the weights as one byte each, in steps of 1024
logarithms to the base 1.0001; ``mdef`` tells which phone a senone belongs to.
"""

import math
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_END_OF_HEADER: Final = b"endhdr\n"
_BYTE_ORDER: Final = 0x11223344
_VARIANCE_FLOOR: Final = 1e-4  # the engine's own
_WEIGHT_STEP: Final = 1024 * math.log(1.0001)
_MDEF_COUNTS: Final = 10
_NOISE: Final = ("SIL", "+")


@dataclass(frozen=True, slots=True, kw_only=True)
class AcousticModel:
    """An acoustic model of tied Gaussians with diagonal covariance.

    Attributes:
        phones: Names, one a codebook ("AH", "SIL").
        means: Shape (phones, streams, densities, width), in units of the cepstra.
        variances: The same shape.
        log_weights: Natural logarithms of the weights, (streams, densities, senones).
        phone_of: Which codebook a senone uses, (senones,).
    """

    phones: tuple[str, ...]
    means: Floats
    variances: Floats
    log_weights: Floats
    phone_of: Integers

    @property
    def is_speech(self) -> NDArray[np.bool_]:
        """Which codebooks are of speech; the others are of silence and noises."""
        return np.array([not phone.startswith(_NOISE) for phone in self.phones])


def read_model(folder: Path) -> AcousticModel:
    """Read the model files of the bundled engine.

    Raises:
        ValueError: If a file is not in the format that is read here.
        OSError: If a file is missing.
    """
    means = read_gaussians((folder / "means").read_bytes())
    variances = read_gaussians((folder / "variances").read_bytes())
    phones, phone_of = _read_phones((folder / "mdef").read_bytes())
    log_weights = _read_weights((folder / "sendump").read_bytes(), streams=means.shape[1])
    if means.shape != variances.shape or len(phones) != len(means):
        msg = "the files of the acoustic model do not belong together"
        raise ValueError(msg)
    return AcousticModel(
        phones=phones,
        means=means,
        variances=np.maximum(variances, _VARIANCE_FLOOR),
        log_weights=log_weights,
        phone_of=phone_of,
    )


def read_gaussians(content: bytes) -> Floats:
    """Read a file of means or variances whose streams are equally wide.

    Returns:
        Shape (codebooks, streams, densities, width).

    Raises:
        ValueError: If it is none, or its streams differ in width.
    """
    found = content.find(_END_OF_HEADER)
    begin = found + len(_END_OF_HEADER)
    if found < 0 or len(content) < begin + 16:
        msg = "not a file of Gaussians"
        raise ValueError(msg)
    order = "<" if struct.unpack_from("<I", content, begin)[0] == _BYTE_ORDER else ">"
    codebooks, streams, densities = struct.unpack_from(f"{order}3i", content, begin + 4)
    widths = struct.unpack_from(f"{order}{streams}i", content, begin + 16)
    count = struct.unpack_from(f"{order}i", content, begin + 16 + 4 * streams)[0]
    if len(set(widths)) != 1 or count != codebooks * densities * sum(widths):
        msg = "the streams of the Gaussians differ in width"
        raise ValueError(msg)
    values = np.frombuffer(content, f"{order}f4", count, begin + 20 + 4 * streams)
    return values.reshape(codebooks, streams, densities, widths[0]).astype(np.float64)


def gaussians_file(values: Floats) -> bytes:
    """Give the content of a file of means: what ``read_gaussians`` reads."""
    codebooks, streams, densities, width = values.shape
    header = b"s3\nversion 1.0\n"
    # the values begin at a multiple of 8 bytes, as in the engine's own files
    padding = b" " * (-(len(header) + len(_END_OF_HEADER)) % 8)
    counts = struct.pack(
        f"<I3i{streams}ii",
        _BYTE_ORDER,
        codebooks,
        streams,
        densities,
        *([width] * streams),
        values.size,
    )
    return header + padding + _END_OF_HEADER + counts + values.astype("<f4").tobytes()


def weight_steps(log_weights: Floats) -> NDArray[np.uint8]:
    """Give logarithms of weights in the steps of the engine's file, one byte each."""
    return np.clip(np.rint(log_weights / -_WEIGHT_STEP), 0, 255).astype(np.uint8)


def weights_file(original: bytes, steps: NDArray[np.uint8]) -> bytes:
    """Give the content of a file of weights: the bundled one with other weights in it."""
    start = _start_of_weights(original)
    return original[:start] + steps.tobytes() + original[start + steps.size :]


def weights_of_steps(steps: NDArray[np.uint8]) -> Floats:
    """Give the logarithms that the steps stand for."""
    return np.multiply(steps.astype(np.float64), -_WEIGHT_STEP)


def features(cepstra: Floats) -> Floats:
    """Give the three streams that the model is of: cepstra, first and second differences.

    Args:
        cepstra: Shape (frames, width), mean already taken off.

    Returns:
        Shape (frames, 3, width). The first and the last frame are repeated beyond the
        ends, as the engine does.
    """
    frames = len(cepstra)
    padded = np.concatenate([cepstra[:1]] * 3 + [cepstra] + [cepstra[-1:]] * 3)

    def at(offset: int) -> Floats:
        return padded[3 + offset : 3 + offset + frames]

    second = (at(3) - at(-1)) - (at(1) - at(-3))
    return np.stack([cepstra, at(2) - at(-2), second], axis=1)


def without_mean(cepstra: Floats) -> Floats:
    """Take the mean off, over the frames that have energy, as the engine does."""
    heard = cepstra[:, 0] >= 0
    return cepstra - cepstra[heard].mean(axis=0) if heard.any() else cepstra


def read_cepstra(content: bytes, width: int = 13) -> Floats:
    """Read a file of cepstra that the engine wrote: a count, then float32 values.

    Returns:
        Shape (frames, width).

    Raises:
        ValueError: If it is none.
    """
    for order in "<>":
        if len(content) >= 4:
            count = struct.unpack_from(f"{order}i", content)[0]
            if 4 * count + 4 == len(content) and count % width == 0:
                values = np.frombuffer(content, f"{order}f4", count, 4)
                return values.reshape(-1, width).astype(np.float64)
    msg = "not a file of cepstra"
    raise ValueError(msg)


def _start_of_weights(content: bytes) -> int:
    """Give where the weights begin: after strings, each after its length, up to length 0."""
    at = 0
    while (length := struct.unpack_from("<i", content, at)[0]) != 0:
        at += 4 + length
    return int(at) + 4 + 8  # the two counts


def _read_weights(content: bytes, streams: int) -> Floats:
    start = _start_of_weights(content)
    densities, senones = struct.unpack_from("<ii", content, start - 8)
    steps = np.frombuffer(content, np.uint8, streams * densities * senones, start)
    return weights_of_steps(steps.reshape(streams, densities, senones))


def _read_phones(content: bytes) -> tuple[tuple[str, ...], Integers]:
    if content[:4] != b"BMDF":
        msg = "not a binary model definition in this machine's byte order"
        raise ValueError(msg)
    at = 12 + struct.unpack_from("<i", content, 8)[0]
    counts = struct.unpack_from(f"<{_MDEF_COUNTS}i", content, at)
    own, every, emitting, _, senones, _, sequences, _, nodes, _ = counts
    at += 4 * _MDEF_COUNTS
    names: list[str] = []
    end = at
    for _ in range(own):
        stop = content.index(b"\0", end)
        names.append(content[end:stop].decode("ascii"))
        end = stop + 1
    at += -(-(end - at) // 4) * 4 + 8 * nodes
    entry = np.dtype([("sequence", "<i4"), ("transitions", "<i4"), ("attributes", "u1", 4)])
    entries = np.frombuffer(content, entry, every, at)
    at += entry.itemsize * every + 4
    states = np.frombuffer(content, "<u2", sequences * emitting, at).reshape(sequences, emitting)
    phone_of = np.zeros(senones, dtype=np.int64)
    # a phone in context names the phone that it is in its second attribute
    phones = np.where(np.arange(every) < own, np.arange(every), entries["attributes"][:, 1])
    phone_of[states[entries["sequence"]].astype(np.int64)] = phones[:, None]
    return tuple(names), phone_of
