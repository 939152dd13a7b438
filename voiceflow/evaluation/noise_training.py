"""Learning what loud noise does to what the front ends make of speech.

Run it as::

    python -m voiceflow.evaluation.noise_training audio_fixtures/manifest.csv

It takes the recordings that are for training and further talkers of espeak-ng, finds the
states of the acoustic model in each as it is, puts pink noise over it, filters it as each
front end does, and learns from the pairs of frames. Then it writes the transforms where
the program reads them. No voice that scores takes part.
"""

import argparse
import json
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.evaluation.manifest import CLEAN, Role, Row, load_manifest
from voiceflow.evaluation.noise import Noise, coloured, mix, seed_of
from voiceflow.evaluation.run import SOUND
from voiceflow.evaluation.training import talkers
from voiceflow.languages.registry import language
from voiceflow.recognition import noise_adaptation
from voiceflow.recognition.acoustic_model import Floats, Integers, features, without_mean
from voiceflow.recognition.engines.pocketsphinx import bundled_model, bundled_pronunciations
from voiceflow.recognition.noise_adaptation import NoiseTransform, as_data, estimate
from voiceflow.recognition.noise_suppression import NoiseSpectrum, WienerFilter
from voiceflow.recognition.sound_check import Phrase, aligner
from voiceflow.recognition.two_front_ends import FLOORS

#: Noise and ratio, decibels. With 13 dB and brown noise at 5 dB too, 86 instead of 90 of
#: 120 readings were heard right by both front ends at 10 dB.
CONDITIONS = ((Noise.PINK, 7.0), (Noise.PINK, 10.0))
_LEAD_S = 1.0
_WORD = re.compile(r"[^a-z'_ ]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """Frames heard twice.

    Attributes:
        clean: Shape (frames, streams, width).
        noisy: The same frames in noise, filtered.
        senones: Shape (frames,).
    """

    clean: Floats
    noisy: Floats
    senones: Integers


def pairs(phrases: Sequence[tuple[Row, Phrase]], front_end: int) -> Iterator[Pairs]:
    """Hear each phrase clean and in each noise, as one front end does.

    Args:
        phrases: Recordings and what is said in them.
        front_end: 0: the first, 1: the second.
    """
    known = [phrase for _, phrase in phrases]
    with aligner(known, language("en"), None, suppress_noise=front_end == 0) as align:
        for row, phrase in phrases:
            found = align.states(phrase)
            if found is None:
                continue
            cepstra, senones = found
            inside = senones >= 0
            for noise, snr_db in CONDITIONS:
                sound = _filtered(row, phrase.samples, noise, snr_db, FLOORS[front_end])
                noisy = align.cepstra(phrase.words, sound)
                if len(noisy) == len(cepstra):
                    yield Pairs(
                        clean=features(without_mean(cepstra))[inside],
                        noisy=features(without_mean(noisy))[inside],
                        senones=senones[inside],
                    )


def learn(found: Iterable[Pairs]) -> NoiseTransform:
    """Estimate the transforms of one front end."""
    pieces = list(found)
    clean = np.concatenate([one.clean for one in pieces])
    noisy = np.concatenate([one.noisy for one in pieces])
    model = bundled_model()
    is_speech = model.is_speech[model.phone_of[np.concatenate([one.senones for one in pieces])]]
    streams = range(clean.shape[1])
    return NoiseTransform(
        speech=tuple(estimate(clean[is_speech, one], noisy[is_speech, one]) for one in streams),
        silence=tuple(estimate(clean[~is_speech, one], noisy[~is_speech, one]) for one in streams),
    )


def sayable(rows: Iterable[Row]) -> list[tuple[Row, Phrase]]:
    """Give the recordings whose every word has a pronunciation."""
    pack = language("en")
    made = []
    for row in rows:
        words = tuple(_WORD.sub("", row.text.lower().replace("-", " ")).split())
        if all(word in pack.pronunciations or bundled_pronunciations(word) for word in words):
            made.append((row, Phrase(words=words, samples=read_recording(row.path))))
    return made


def _filtered(row: Row, samples: Samples, noise: Noise, snr_db: float, floor: float) -> Samples:
    """Put noise over a recording and a second of lead, learn it in the lead, take it off."""
    lead = round(_LEAD_S * RATE_HZ)
    whole = np.concatenate((np.zeros(lead, dtype=np.int16), samples))
    dice = np.random.default_rng(seed_of("learn noise", row.file, noise, snr_db))
    speech = (row.speech_start_s + _LEAD_S, row.speech_end_s + _LEAD_S)
    noisy = mix(whole, speech, coloured(noise, len(whole), dice), snr_db)
    spectrum = NoiseSpectrum()
    spectrum.hear(noisy[:lead])
    wiener = WienerFilter(spectrum.power, floor)
    return np.concatenate((wiener.feed(noisy[lead:]), wiener.flush()))


def main(arguments: Sequence[str] | None = None) -> int:
    """Learn and write."""
    parser = argparse.ArgumentParser(prog="python -m voiceflow.evaluation.noise_training")
    parser.add_argument("manifest", type=Path)
    parser.add_argument(
        "--out",
        type=Path,
        default=Path(noise_adaptation.__file__).with_name(noise_adaptation.FILE),
    )
    given = parser.parse_args(arguments)
    rows = [row for row in load_manifest(given.manifest) if row.role is Role.TRAIN]
    with TemporaryDirectory(prefix="voiceflow-") as folder:
        further = talkers(rows, Path(folder))
        said = [
            row
            for row in (*rows, *further)
            if row.condition == CLEAN and row.form != SOUND and row.kind != "none"
        ]
        phrases = sayable(said)
        transforms = []
        counts = []
        for front_end in range(len(FLOORS)):
            found = list(pairs(phrases, front_end))
            transforms.append(learn(found))
            counts.append(sum(len(one.senones) for one in found))
            sys.stderr.write(f"front end {front_end + 1}: {counts[-1]} frames\n")
    document = {
        "what": "What loud, filtered noise does to the Gaussians of the acoustic model "
        "(voiceflow/recognition/noise_adaptation.py): matrix without unit, offset in units of "
        "the cepstra, blur in their squares; three streams each: cepstra, first, second "
        "differences.",
        "made by": "python -m voiceflow.evaluation.noise_training audio_fixtures/manifest.csv",
        "voices": sorted({row.voice for row, _ in phrases}),
        "noises": [f"{noise} {snr_db:g} dB" for noise, snr_db in CONDITIONS],
        "frames of 10 ms": counts,
        "front ends": as_data(transforms),
    }
    text = json.dumps(document, separators=(",", ":"))
    # one line a row of a matrix: a change can be read
    given.out.write_text(
        text.replace("],[", "],\n[").replace("},{", "},\n{") + "\n", encoding="utf-8"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
