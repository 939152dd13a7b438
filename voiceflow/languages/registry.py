"""Which language packs there are. A pack is one folder beside this module.

Nothing outside the packs knows which language runs: everyone else asks here for a
code and works with the ``Language`` that comes back.
"""

from collections.abc import Mapping
from functools import cache
from importlib import import_module

from voiceflow.errors import LanguageError
from voiceflow.phraseology.language import Language

#: Code -> module that holds the pack as ``LANGUAGE``. Imported when first asked for,
#: so that a check in one language does not pay for the others.
_PACKS: Mapping[str, str] = {
    "en": "voiceflow.languages.english.pack",
    "ko": "voiceflow.languages.korean.pack",
}


def known_languages() -> tuple[str, ...]:
    """Give the codes of the packs there are, in alphabetical order."""
    return tuple(sorted(_PACKS))


@cache
def language(code: str) -> Language:
    """Give a language pack; the same object every time.

    Args:
        code: BCP 47 code of the language, as the check file has it ("en").

    Raises:
        LanguageError: If there is no pack of exactly this code.
    """
    module_name = _PACKS.get(code)
    if module_name is None:
        raise LanguageError(code, known_languages())
    pack: Language = import_module(module_name).LANGUAGE
    return pack
