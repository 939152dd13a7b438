"""The dictionary that comes with PocketSphinx, read without the recogniser."""

from importlib.util import find_spec
from pathlib import Path

from voiceflow.languages.english.lexicon import read_lexicon
from voiceflow.phraseology.language import Pronunciation


def _path() -> Path:
    spec = find_spec("pocketsphinx")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "model" / "en-us" / "cmudict-en-us.dict"


DICTIONARY = read_lexicon(_path().read_text(encoding="utf-8"))


def engine_phones(word: str) -> tuple[Pronunciation, ...]:
    return DICTIONARY.get(word, ())
