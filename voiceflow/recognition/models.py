"""Where Vosk's models are on this machine, and how to get one.

Nothing is downloaded here: a check must run where there is no network.
Searched, in this order: the folder given; ``VOSK_MODEL_PATH`` (a model, or a folder of
models); the folders that Vosk itself uses; an installed package ``vosk_model_<code>``.
"""

import os
import re
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from voiceflow.errors import ModelNotFoundError
from voiceflow.phraseology.language import Language

ENGINE: Final = "vosk"
VARIABLE: Final = "VOSK_MODEL_PATH"
# The two layouts that Vosk reads, old and new, have the acoustic model in one of these.
_ACOUSTIC_MODELS: Final = ("am/final.mdl", "final.mdl")


def is_model(folder: Path) -> bool:
    """Tell whether a folder is a Vosk model, by the acoustic model in it."""
    return any((folder / name).is_file() for name in _ACOUSTIC_MODELS)


def find_vosk_model(language: Language, explicit: Path | None = None) -> Path:
    """Find a model for a language.

    Args:
        language: Its ``model_tags`` say how such folders are named.
        explicit: A model folder, which is then the only place looked at.

    Raises:
        ModelNotFoundError: If there is none; it says where was searched and how to
            get one.
    """
    if explicit is not None:
        if is_model(explicit):
            return explicit
        inside = next((path for path in _subfolders(explicit) if is_model(path)), None)
        hint = f"Did you mean {inside}?" if inside else "Name the folder that holds am/final.mdl"
        raise ModelNotFoundError(ENGINE, [str(explicit)], hint)
    searched: list[str] = []
    variable = os.environ.get(VARIABLE)
    if variable:
        searched.append(f"{VARIABLE} ({variable})")
        if is_model(Path(variable)):
            return Path(variable)
    for folder in _folders_of_models():
        searched.append(str(folder))
        found = _best(folder, language)
        if found is not None:
            return found
    package = f"vosk_model_{language.code.replace('-', '_').lower()}"
    searched.append(f"the package {package}")
    packaged = _in_package(package)
    if packaged is not None:
        return packaged
    raise ModelNotFoundError(ENGINE, list(dict.fromkeys(searched)), by_hand(language))


def by_hand(language: Language) -> str:
    """Say how to bring a model for a language."""
    tag = language.model_tags[0] if language.model_tags else language.code
    return (
        f"Unpack a Vosk model for the language (vosk-model-small-{tag}-...) and give its "
        f"folder with --model, or put it into {_cache_folder()}"
    )


def _cache_folder() -> Path:
    return Path.home() / ".cache" / "vosk"


def _folders_of_models() -> Iterator[Path]:
    variable = os.environ.get(VARIABLE)
    if variable:
        yield Path(variable)
    # as in Vosk, whose list is not asked for, because that would load the engine; it
    # has all of them on every system
    if sys.platform == "win32":
        yield Path.home() / "AppData" / "Local" / "vosk"
    else:
        yield Path("/usr/share/vosk")
    yield _cache_folder()


def _best(folder: Path, language: Language) -> Path | None:
    models = sorted(path for path in _subfolders(folder) if is_model(path))
    for tag in language.model_tags:
        name = re.compile(rf"vosk-model(-small)?-{re.escape(tag)}(-.*)?")
        named = [path for path in models if name.fullmatch(path.name)]
        # a large model before a small one, a later version before an earlier one
        named.sort(key=lambda path: ("-small-" not in path.name, path.name), reverse=True)
        # large static graphs cannot change their grammar: those with Gr.fst can
        dynamic = [path for path in named if (path / "graph" / "Gr.fst").is_file()]
        if dynamic or named:
            return (dynamic or named)[0]
    return None


def _subfolders(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if path.is_dir())
    except OSError:
        return []


def _in_package(package: str) -> Path | None:
    spec = find_spec(package)
    for place in (spec.submodule_search_locations or ()) if spec else ():
        for folder in (Path(place), *_subfolders(Path(place))):
            if is_model(folder):
                return folder
    return None
