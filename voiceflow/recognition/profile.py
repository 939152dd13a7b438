"""What a sound check learnt of a speaker, and where it is kept.

A profile is a folder with two files: ``profile.json``, which a person can read (levels,
cepstral means, how sure a reading must be, what the held-out phrases said), and
``model.npz``, the means and weights of the acoustic models for this speaker, if adaptation
helps. Nothing of the sound itself is kept. How it is learnt stands in ``sound_check.py``.
"""

import io
import json
import math
import os
import re
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray
from platformdirs import user_data_path

from voiceflow.errors import UsageError
from voiceflow.phraseology.language import Language
from voiceflow.recognition.acoustic_model import (
    AcousticModel,
    Floats,
    weight_steps,
    weights_of_steps,
)
from voiceflow.recognition.engines.pocketsphinx import Accustomed, bundled_model
from voiceflow.recognition.evidence import shipped_model
from voiceflow.recognition.levels import Levels
from voiceflow.recognition.recogniser import NO_PROFILE
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.settings import PolicySettings

#: The environment variable that names another folder of profiles.
OVERRIDE: Final = "VOICEFLOW_PROFILES"
_NAME: Final = re.compile(r"[\w-]+")
#: Log odds at which a reading of anybody is taken.
USUAL_LOG_ODDS: Final = math.log(
    PolicySettings().accept_reading / (1 - PolicySettings().accept_reading)
)
# 1 had a digit model only; its decoders began without a cepstral mean
_FORMAT: Final = 2
_CEPSTRA: Final = 13
_FACTS: Final = "profile.json"
_ARRAYS: Final = "model.npz"


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
class FrontEnd:
    """What the sound check set for one of the two decoders.

    Attributes:
        cepstral_mean: Mean of the cepstra of the phrases, 13 values in the engine's features.
        errors_before: Words held out that the model as it comes got wrong.
        errors_after: Words held out that the adapted model got wrong.
        adapted: The adapted model; None if it heard held-out phrases worse.
    """

    cepstral_mean: tuple[float, ...]
    errors_before: int
    errors_after: int
    adapted: Adapted | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sureness:
    """How sure a reading of this voice must be, and what that was chosen from.

    Natural log odds as ``evidence.Model.log_odds`` gives them.

    Attributes:
        sure_log_odds: Readings below are asked about.
        right_count: Held-out readings that were heard right.
        right_mean: Mean log odds of these.
        right_deviation: Standard deviation of these.
        wrong_count: Held-out readings that were heard wrong, nearly all because the
            grammar did not have what was said.
        wrong_mean: Mean log odds of these.
        wrong_deviation: Standard deviation of these.
    """

    sure_log_odds: float
    right_count: int
    right_mean: float
    right_deviation: float
    wrong_count: int
    wrong_mean: float
    wrong_deviation: float

    @property
    def sentence(self) -> str:
        """What it means, for people."""
        return (
            f"Numbers are taken without a question from log odds of {self.sure_log_odds:.1f} on: "
            f"{self.right_count} heard right had {self.right_mean:.1f}, "
            f"{self.wrong_count} heard wrong {self.wrong_mean:.1f}."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeakerProfile:
    """What is known of one speaker on one microphone.

    Attributes:
        name: What the speaker calls it.
        model_digest: SHA-256 of the means that it started from, hexadecimal.
        phrases: How many phrases it was learnt from.
        sound_s: Seconds of sound, quiet included.
        held_out_words: Words of the phrases, each held out once to decide on the adaptation.
        levels: How loud the voice and its room were.
        sureness: How sure a reading must be; None if there was too little to tell.
        suppressed: For the leading decoder, which has the engine take noise off.
        plain: For the other decoder.
        digest: SHA-256 of what is kept in the folder, hexadecimal; empty before that.
    """

    name: str
    model_digest: str
    phrases: int
    sound_s: float
    held_out_words: int
    levels: Levels
    sureness: Sureness | None
    suppressed: FrontEnd
    plain: FrontEnd
    digest: str = ""

    @property
    def is_adapted(self) -> bool:
        """Whether the acoustic model of the leading decoder is adapted."""
        return self.suppressed.adapted is not None

    @property
    def verdict(self) -> str:
        """What the held-out phrases say, for people."""
        one, other = self.suppressed, self.plain
        kept = (
            "the adaptation is kept"
            if self.is_adapted
            else "the adaptation would make hearing worse and is left out"
        )
        return (
            f"{self.name}: {self.phrases} phrases, {self.sound_s:.0f} s; of "
            f"{self.held_out_words} words held out, {one.errors_before} and "
            f"{other.errors_before} wrong before, {one.errors_after} and {other.errors_after} "
            f"after, by the one decoder and the other; {kept}"
        )


def recogniser_for(profile: SpeakerProfile, language: Language) -> TwoFrontEnds:
    """Load PocketSphinx for a speaker.

    Raises:
        EngineError: If the bundled model cannot hear the language.
    """
    accustomed = _accustomed(profile.suppressed), _accustomed(profile.plain)
    model = shipped_model()
    if profile.sureness is not None:
        offset = USUAL_LOG_ODDS - profile.sureness.sure_log_odds
        model = replace(model, reading_offset=offset)
    return TwoFrontEnds(language, model, accustomed)


def _accustomed(front: FrontEnd) -> Accustomed:
    adapted = None if front.adapted is None else front.adapted.model(bundled_model())
    return Accustomed(model=adapted, cepstral_mean=front.cepstral_mean)


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
    if not _NAME.fullmatch(name) or name == NO_PROFILE:
        what = f"{name!r} cannot be the name of a profile"
        raise UsageError(what, "Use letters, digits, - and _; not 'none'.")
    return profiles_folder() / name


def find_profile(name: str, model_digest: str) -> SpeakerProfile:
    """Read the profile of that name.

    Raises:
        UsageError: As ``profile_folder`` and ``load_profile``.
    """
    return load_profile(profile_folder(name), model_digest)


def save_profile(profile: SpeakerProfile, folder: Path) -> SpeakerProfile:
    """Write a profile into a folder of its own, which is made.

    Returns:
        The profile with its digest.

    Raises:
        UsageError: If it cannot be written.
    """
    arrays: dict[str, Any] = {
        f"{name}_{what}": value
        for name, front in _fronts(profile).items()
        if front.adapted is not None
        for what, value in (
            ("means", front.adapted.means.astype(np.float32)),
            ("weights", front.adapted.weight_steps),
        )
    }
    content = io.BytesIO()
    np.savez_compressed(content, **arrays)
    model = content.getvalue()
    facts = _facts(profile, sha256(model).hexdigest())
    text = (json.dumps(facts, ensure_ascii=False, indent=2) + "\n").encode()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # the facts last: they name the arrays by their digest, so that half of a
        # profile written over an older one is no profile
        (folder / _ARRAYS).write_bytes(model)
        (folder / _FACTS).write_bytes(text)
    except OSError as error:
        what = f"the profile cannot be written to {folder} ({error.strerror})"
        raise UsageError(what, "Choose another name or set VOICEFLOW_PROFILES.") from error
    return replace(profile, digest=sha256(text).hexdigest())


def load_profile(folder: Path, model_digest: str) -> SpeakerProfile:
    """Read a profile.

    Args:
        folder: Its own folder.
        model_digest: SHA-256 of the means of the model that is to be adapted.

    Raises:
        UsageError: If there is none, it is damaged, of an earlier version, or for another
            model.
    """
    again = f"Do the sound check again: voiceflow mic --sound-check {folder.name}."
    try:
        text = (folder / _FACTS).read_bytes()
        facts: Any = json.loads(text)
        if facts["format"] != _FORMAT:
            what = f"the profile in {folder} is of another version of Voiceflow"
            raise UsageError(what, again)
        model = (folder / _ARRAYS).read_bytes()
        if sha256(model).hexdigest() != facts["arrays_digest"]:
            what = f"the profile in {folder} is damaged"
            raise UsageError(what, again)
        with np.load(io.BytesIO(model), allow_pickle=False) as arrays:
            profile = _profile(facts, arrays, sha256(text).hexdigest())
    except FileNotFoundError as error:
        what = f"there is no profile in {folder}"
        raise UsageError(what, again) from error
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
        raise UsageError(what, again) from error
    if profile.model_digest != model_digest:
        what = f"the profile in {folder} is for another acoustic model"
        raise UsageError(what, again)
    return profile


def _fronts(profile: SpeakerProfile) -> dict[str, FrontEnd]:
    return {"suppressed": profile.suppressed, "plain": profile.plain}


def _facts(profile: SpeakerProfile, arrays_digest: str) -> dict[str, Any]:
    """Give what a person can read; units stand in the names."""
    sureness = profile.sureness
    return {
        "format": _FORMAT,
        "name": profile.name,
        "model_digest": profile.model_digest,
        "arrays_digest": arrays_digest,
        "phrases": profile.phrases,
        "sound_s": profile.sound_s,
        "held_out_words": profile.held_out_words,
        "levels": {**asdict(profile.levels), "snr_db": round(profile.levels.snr_db, 1)},
        "sureness_of_readings": None if sureness is None else asdict(sureness),
        "front_ends": {
            name: {
                "adapted": front.adapted is not None,
                "words_wrong_before": front.errors_before,
                "words_wrong_after": front.errors_after,
                "cepstral_mean_in_features": list(front.cepstral_mean),
            }
            for name, front in _fronts(profile).items()
        },
    }


def _profile(facts: Any, arrays: Any, digest: str) -> SpeakerProfile:
    levels = facts["levels"]
    sureness = facts["sureness_of_readings"]
    fronts = {
        name: FrontEnd(
            cepstral_mean=_mean(front["cepstral_mean_in_features"]),
            errors_before=int(front["words_wrong_before"]),
            errors_after=int(front["words_wrong_after"]),
            adapted=_adapted(arrays, name) if front["adapted"] else None,
        )
        for name, front in facts["front_ends"].items()
    }
    return SpeakerProfile(
        name=str(facts["name"]),
        model_digest=str(facts["model_digest"]),
        phrases=int(facts["phrases"]),
        sound_s=float(facts["sound_s"]),
        held_out_words=int(facts["held_out_words"]),
        levels=Levels(
            speech_dbfs=float(levels["speech_dbfs"]),
            noise_dbfs=float(levels["noise_dbfs"]),
            clipped_percent=float(levels["clipped_percent"]),
        ),
        sureness=None if sureness is None else _sureness(sureness),
        suppressed=fronts["suppressed"],
        plain=fronts["plain"],
        digest=digest,
    )


def _sureness(facts: Any) -> Sureness:
    found = Sureness(**facts)
    if not math.isfinite(found.sure_log_odds):
        msg = "the log odds are no number"
        raise ValueError(msg)
    return found


def _mean(values: Any) -> tuple[float, ...]:
    found = tuple(float(value) for value in values)
    if len(found) != _CEPSTRA or not all(map(math.isfinite, found)):
        msg = "the cepstral mean is none"
        raise ValueError(msg)
    return found


def _adapted(arrays: Any, name: str) -> Adapted:
    means, steps = arrays[f"{name}_means"], arrays[f"{name}_weights"]
    if means.ndim != 4 or steps.ndim != 3 or not np.isfinite(means).all():
        msg = "the arrays are not those of a model"
        raise ValueError(msg)
    return Adapted(means=means.astype(np.float64), weight_steps=steps.astype(np.uint8))
