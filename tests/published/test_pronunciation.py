"""Nobody who pronounces numbers as the published tables have it is refused."""

from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from voiceflow.languages.english.lexicon import phones
from voiceflow.recognition.engines.pocketsphinx import bundled_pronunciations

TABLE: dict[str, Any] = YAML(typ="safe").load(Path(__file__).parent / "pronunciation.yaml")
ROWS: list[dict[str, Any]] = TABLE["rows"]


def test_every_document_was_seen_and_prints_every_word() -> None:
    for source in TABLE["sources"].values():
        assert source["verified"] in {"V", "V2"}
    for row in ROWS:
        assert set(row["printed"]) == set(TABLE["sources"])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["word"])
def test_published_sound_is_heard(row: dict[str, Any]) -> None:
    """Source: ICAO Annex 10 vol. II 5.2.1.4.3.1; UK CAP 413 chapter 2, Table 2."""
    word = row["word"]
    # the pack's ways replace the engine's
    known = phones(word) or tuple(tuple(way.split()) for way in bundled_pronunciations(word))
    for sound in row["sounds"]:
        assert tuple(sound.split()) in known
