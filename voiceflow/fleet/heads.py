"""Heads of runs without what many of them share, and back again, letter for letter.

A check, each item of it and the settings are documents, kept once under the SHA-256 of
their text; where one of them belongs, the head has that digest, hexadecimal.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from typing import Any, Final

from voiceflow.journal.codec import Json, to_text

_SHARED: Final = ("check", "settings")


def digest(text: str) -> str:
    """Give the name of a document."""
    return hashlib.sha256(text.encode()).hexdigest()


def split(header: str) -> tuple[str, dict[str, str]]:
    """Give what is left of a head, as it is stored, and its documents by their digests."""
    documents: dict[str, str] = {}

    def keep(plain: Json) -> str:
        text = to_text(plain)
        documents[digest(text)] = text
        return digest(text)

    left = json.loads(header)
    for name in _SHARED:
        part = left.get(name)
        if not isinstance(part, dict):
            continue
        items = part.get("items")
        if isinstance(items, list) and all(isinstance(item, dict) for item in items):
            part["items"] = [keep(item) for item in items]
        left[name] = keep(part)
    stored = to_text(left)
    if join(stored, lambda wanted: {each: documents.get(each, "0") for each in wanted}) != header:
        # it is not as heads are: kept whole
        return header, {}
    return stored, documents


def join(stored: str, documents: Callable[[set[str]], Mapping[str, str]]) -> str:
    """Give a head again.

    Args:
        stored: What is left of it.
        documents: Gives documents by their digests.

    Raises:
        ValueError: If it, or a document, is no JSON.
        KeyError: If a document is missing.
    """
    left: Json = json.loads(stored)
    wanted = {left[name] for name in _SHARED if isinstance(left.get(name), str)}
    parts = {name: json.loads(text) for name, text in documents(wanted).items()}
    for name in _SHARED:
        if not isinstance(left.get(name), str):
            continue
        part: dict[str, Any] = parts[left[name]]
        items = part.get("items")
        if isinstance(items, list) and all(isinstance(item, str) for item in items):
            texts = documents(set(items)) if items else {}
            part["items"] = [json.loads(texts[item]) for item in items]
        left[name] = part
    return to_text(left)
