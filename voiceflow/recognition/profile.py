"""What a sound check learnt of a speaker, and where it is kept.

A profile is a folder with two files: ``profile.json``, which a person can read, and
``model.npz``, the means and weights of the acoustic model for this speaker. Nothing of the sound
itself is kept. How it is learnt stands in ``sound_check.py``.
"""

import json
import os
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray
from platformdirs import user_data_path

from voiceflow.errors import UsageError
from voiceflow.recognition.acoustic_model import (
    AcousticModel,
    Floats,
    weight_steps,
    weights_of_steps,
)

#: The environment variable that names another folder of profiles.
OVERRIDE: Final = "VOICEFLOW_PROFILES"
_NAME: Final = re.compile(r"[\w-]+")
_FORMAT: Final = 1
_FACTS: Final = "profile.json"
_ARRAYS: Final = "model.npz"
_AGAIN: Final = "Do the sound check again: voiceflow mic --sound-check."


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapted:
    """What differs from the bundled model.

    Attributes:
        means: Shape (phones, streams, densities, width).
        weight_steps: Weights as in the engine's file, (streams, densities, senones).
    """

    means: Floats
    weight_steps: NDArray[np.uint8]

    @staticmethod
    def of(model: AcousticModel) -> "Adapted":
        """Keep what adaptation changes."""
        return Adapted(means=model.means, weight_steps=weight_steps(model.log_weights))

    def model(self, base: AcousticModel) -> AcousticModel:
        """Give the whole model again, from the one that was adapted."""
        log_weights = weights_of_steps(self.weight_steps)
        return replace(base, means=self.means, log_weights=log_weights)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeakerProfile:
    """What is known of one speaker on one microphone.

    Attributes:
        name: What the speaker calls it.
        model_digest: SHA-256 of the means that it started from, hexadecimal.
        phrases: How many phrases it was learnt from.
        frames: How many frames of 10 ms, quiet included.
        held_out_words: Words of the phrases that were held out to decide on it.
        errors_before: Words among them that the model as it comes got wrong.
        errors_after: Words among them that the adapted model got wrong.
        suppressed: The model adapted to the speaker with the noise taken off.
        plain: The model adapted to the speaker with the noise left in.
    """

    name: str
    model_digest: str
    phrases: int
    frames: int
    held_out_words: int
    errors_before: int
    errors_after: int
    suppressed: Adapted
    plain: Adapted

    @property
    def helps(self) -> bool:
        """Whether the held-out phrases speak for it: no more errors than without."""
        return self.errors_after <= self.errors_before

    @property
    def verdict(self) -> str:
        """What the held-out phrases say, for people."""
        kept = "kept" if self.helps else "not kept: it would make hearing worse"
        return (
            f"{self.name}: {self.phrases} phrases, {self.frames / 100:.0f} s; of "
            f"{self.held_out_words} words held out, {self.errors_before} wrong before and "
            f"{self.errors_after} after; {kept}"
        )


def profiles_folder() -> Path:
    """Give where profiles are kept: VOICEFLOW_PROFILES, else the user's data folder."""
    named = os.environ.get(OVERRIDE, "")
    if named:
        return Path(named).expanduser()
    return user_data_path("voiceflow", appauthor=False) / "profiles"


def profile_folder(name: str) -> Path:
    """Give the folder of a profile.

    Raises:
        UsageError: If the name cannot be that of a folder.
    """
    if not _NAME.fullmatch(name):
        what = f"{name!r} cannot be the name of a profile"
        raise UsageError(what, "Use letters, digits, - and _.")
    return profiles_folder() / name


def find_profile(name: str, model_digest: str) -> SpeakerProfile:
    """Read the profile of that name.

    Raises:
        UsageError: As ``profile_folder`` and ``load_profile``.
    """
    return load_profile(profile_folder(name), model_digest)


def save_profile(profile: SpeakerProfile, folder: Path) -> None:
    """Write a profile into a folder of its own, which is made.

    Raises:
        UsageError: If it cannot be written.
    """
    facts = {
        "format": _FORMAT,
        "name": profile.name,
        "model_digest": profile.model_digest,
        "phrases": profile.phrases,
        "frames": profile.frames,
        "held_out_words": profile.held_out_words,
        "errors_before": profile.errors_before,
        "errors_after": profile.errors_after,
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        np.savez_compressed(
            folder / _ARRAYS,
            suppressed_means=profile.suppressed.means.astype(np.float32),
            suppressed_weights=profile.suppressed.weight_steps,
            plain_means=profile.plain.means.astype(np.float32),
            plain_weights=profile.plain.weight_steps,
        )
        text = json.dumps(facts, ensure_ascii=False, indent=2)
        (folder / _FACTS).write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        what = f"the profile cannot be written to {folder} ({error.strerror})"
        raise UsageError(what, "Choose another name or set VOICEFLOW_PROFILES.") from error


def load_profile(folder: Path, model_digest: str) -> SpeakerProfile:
    """Read a profile.

    Args:
        folder: Its own folder.
        model_digest: SHA-256 of the means of the model that is to be adapted.

    Raises:
        UsageError: If there is none, it is damaged, or it is for another model.
    """
    try:
        facts: Any = json.loads((folder / _FACTS).read_text(encoding="utf-8"))
        # opened here: numpy leaves a damaged archive open
        with (
            (folder / _ARRAYS).open("rb") as stream,
            np.load(stream, allow_pickle=False) as arrays,
        ):
            suppressed, plain = _adapted(arrays, "suppressed"), _adapted(arrays, "plain")
        if facts.pop("format") != _FORMAT:
            what = f"the profile in {folder} is damaged or of another version"
            raise UsageError(what, _AGAIN)
        profile = SpeakerProfile(**facts, suppressed=suppressed, plain=plain)
    except FileNotFoundError as error:
        what = f"there is no profile in {folder}"
        raise UsageError(what, _AGAIN) from error
    except (
        OSError,
        ValueError,
        TypeError,
        KeyError,
        AttributeError,
        EOFError,
        BadZipFile,
    ) as error:
        what = f"the profile in {folder} cannot be read"
        raise UsageError(what, _AGAIN) from error
    if profile.model_digest != model_digest:
        what = f"the profile in {folder} is for another acoustic model"
        raise UsageError(what, _AGAIN)
    return profile


def _adapted(arrays: Any, name: str) -> Adapted:
    means, steps = arrays[f"{name}_means"], arrays[f"{name}_weights"]
    if means.ndim != 4 or steps.ndim != 3 or not np.isfinite(means).all():
        msg = "the arrays are not those of a model"
        raise ValueError(msg)
    return Adapted(means=means.astype(np.float64), weight_steps=steps.astype(np.uint8))
