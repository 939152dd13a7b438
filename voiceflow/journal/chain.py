"""The chain: what a link is made from.

A link is the SHA-256 over the link before it, 32 bytes, and one line of JSON: what was
written down then, as ``voiceflow journal export`` prints it. The first link has 32 zero
bytes before it. So nobody can change, take away or move what is written without
changing every link after it, and a last link that was noted elsewhere tells of all of it.

Hash chains of records: S. Haber, W. S. Stornetta, How to time-stamp a digital document,
Journal of Cryptology 3 (1991), 99-111.
"""

import hashlib
from collections.abc import Iterable
from typing import Final

from voiceflow.journal.codec import Json, to_text

#: What stands before the first link.
FIRST: Final = bytes(32)


def link(before: bytes, line: str) -> bytes:
    """Give the link of what is written after another.

    Args:
        before: The link before it.
        line: What is written, one of the lines below.
    """
    return hashlib.sha256(before + line.encode()).digest()


def run_line(header: Json) -> str:
    """Give the line of a head."""
    return to_text({"kind": "run", **header})


def event_line(run_id: str, seq: int, event: str, records: Iterable[str]) -> str:
    """Give the line of an event with its records.

    Args:
        run_id: The run.
        seq: The event's place in it, from 0.
        event: A JSON object.
        records: JSON objects.
    """
    head = f'{{"run_id":{to_text(run_id)},"seq":{seq},'
    return f'{head}{event[1:-1]},"records":[{",".join(records)}]}}'


def finding_line(finding_id: str, state: str, by: str, reference: str, at: str) -> str:
    """Give the line of what people did about a discrepancy."""
    step = {"finding_id": finding_id, "state": state, "by": by, "reference": reference, "at": at}
    return to_text({"kind": "finding", **step})


def sound_line(digest: str) -> str:
    """Give the line of a sound, which is known by its SHA-256."""
    return to_text({"kind": "sound", "sha256": digest})
