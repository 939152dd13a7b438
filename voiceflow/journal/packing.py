"""Rows without what thousands of others say too, and back again, letter for letter.

An event is stored as its *form*, a text with every value taken out, and the values. The
form is a document, stored once; a ``0`` in it stands where a value belongs::

    {"kind":"spoken","at_s":0,"words":0,"completed":true,"begun":true}
    [8.82,"Walk-round, nose. Pitot covers."]

So no field is ever left out because it has its default: what is read is what was written,
whatever later versions think of it. A head's check, each item of it and its settings are
documents too, and the head has their numbers; so are the forms of the tables in its brief.
Which strings belong to the form is a matter
of size alone.
"""

import hashlib
import json
import sqlite3
from typing import Any, Final

from voiceflow.journal.codec import Json, to_text

#: Strings under these names have few values, so they belong to the form.
_FEW: Final = frozenset(
    {
        "action",
        "cause",
        "check_id",
        "device",
        "engine",
        "item_id",
        "kind",
        "name",
        "phrase",
        "reason",
        "state",
        "unit",
        "verdict",
        "withdrawn_item",
    }
)
#: Tables of a brief: every run has other numbers in the same rows.
_TABLES: Final = ("paces", "trends")


class Documents:
    """The documents of a journal, found by what they say or by their number."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._numbers: dict[str, int] = {}
        self._forms: dict[int, tuple[str, ...]] = {}
        self._texts: dict[int, str] = {}
        self._parsed: dict[int, Json] = {}

    def forget(self) -> None:
        """Drop what is known here: the transaction in which it was written came to nothing."""
        self._numbers.clear()
        self._forms.clear()
        self._texts.clear()
        self._parsed.clear()

    def keep(self, text: str) -> int:
        """Store a text unless it is there; give its number."""
        known = self._numbers.get(text)
        if known is not None:
            return known
        digest = hashlib.sha256(text.encode()).digest()
        row = self._connection.execute(
            "SELECT id FROM document WHERE digest = ?", (digest,)
        ).fetchone()
        if row is None:
            cursor = self._connection.execute(
                "INSERT INTO document (digest, json) VALUES (?, ?)", (digest, text)
            )
            row = (cursor.lastrowid,)
        number = int(row[0])
        self._numbers[text] = number
        return number

    def text(self, number: int) -> str:
        """Give a document.

        Raises:
            ValueError: If there is none of that number.
        """
        if number not in self._texts:
            row = self._connection.execute(
                "SELECT json FROM document WHERE id = ?", (number,)
            ).fetchone()
            if row is None:
                msg = f"document {number} is missing"
                raise ValueError(msg)
            self._texts[number] = row[0]
        return self._texts[number]

    def parsed(self, document: object) -> Json:
        """Give a document as JSON's own types, not to be changed; or what stands in its place.

        Raises:
            ValueError: If it is missing.
        """
        if not isinstance(document, int):
            return dict(document) if isinstance(document, dict) else {}
        if document not in self._parsed:
            self._parsed[document] = json.loads(self.text(document))
        return self._parsed[document]

    def check(self, document: object) -> Json:
        """Give a check with its items as JSON's own types, not to be changed.

        Raises:
            ValueError: If a document is missing.
        """
        check = self.parsed(document)
        return check | {"items": [self.parsed(item) for item in check["items"]]}

    # ---- events and records

    def pack(self, plain: Json) -> tuple[int, str]:
        """Store the form of an object; give the form's number and the values as JSON."""
        form, values = self._keep_form(plain)
        return form, to_text(values)

    def _keep_form(self, value: Json | list[Json]) -> tuple[int, list[Any]]:
        form: list[str | None] = []
        values: list[Any] = []
        _take_apart(value, "", form, values)
        return self.keep("".join("0" if part is None else part for part in form)), values

    def unpack(self, form: int, values: str) -> str:
        """Give the object again, as one line of JSON.

        Raises:
            ValueError: If the form is missing or the values are not those of this form.
        """
        return self._fill(form, json.loads(values))

    def _fill(self, form: int, parsed: object) -> str:
        pieces = self._forms.get(form)
        if pieces is None:
            pieces = self._forms[form] = _cut(self.text(form))
        if not isinstance(parsed, list) or len(parsed) != len(pieces) - 1:
            msg = f"form {form} has {len(pieces) - 1} values"
            raise ValueError(msg)
        text = [pieces[0]]
        for value, after in zip(parsed, pieces[1:], strict=True):
            text.append(to_text(value))
            text.append(after)
        return "".join(text)

    # ---- heads

    def pack_header(self, header: Json) -> str:
        """Store the documents of a head; give what is left, as JSON."""
        left = dict(header)
        for name in ("check", "settings"):
            part = header.get(name)
            if not isinstance(part, dict):
                continue
            items = part.get("items")
            if isinstance(items, list) and all(isinstance(item, dict) for item in items):
                part = part | {"items": [self.keep(to_text(item)) for item in items]}
            left[name] = self.keep(to_text(part))
        brief = header.get("brief")
        if isinstance(brief, dict):
            left["brief"] = brief | {
                name: self._pack_list(brief[name]) for name in _TABLES if brief.get(name)
            }
        return to_text(left)

    def numbers_in(self, stored: str) -> set[int]:
        """Give the documents that a head is made of.

        Raises:
            ValueError: If one is missing.
        """
        header = json.loads(stored)
        found = {header[name] for name in ("check", "settings") if isinstance(header[name], int)}
        items = self.parsed(header["check"]).get("items", [])
        found.update(item for item in items if isinstance(item, int))
        brief = header.get("brief") or {}
        tables = [brief[name] for name in _TABLES if isinstance(brief.get(name), dict)]
        return found | {table["form"] for table in tables}

    def _pack_list(self, rows: list[Json]) -> Json:
        form, values = self._keep_form(rows)
        return {"form": form, "values": values}

    def unpack_header(self, stored: str) -> Json:
        """Give a head again.

        Raises:
            ValueError: If a document is missing, or it is no JSON object.
        """
        header = json.loads(stored)
        if not isinstance(header, dict):
            msg = "a head is a JSON object"
            raise ValueError(msg)  # noqa: TRY004 - whoever reads a file looks for ValueError
        for name in ("check", "settings"):
            if isinstance(header.get(name), int):
                part = json.loads(self.text(header[name]))
                items = part.get("items")
                if isinstance(items, list):
                    part["items"] = [
                        json.loads(self.text(item)) if isinstance(item, int) else item
                        for item in items
                    ]
                header[name] = part
        brief = header.get("brief")
        for name in _TABLES:
            if isinstance(brief, dict) and isinstance(brief.get(name), dict):
                packed = brief[name]
                brief[name] = json.loads(self._fill(packed["form"], packed["values"]))
        return header


def _take_apart(value: Any, key: str, form: list[str | None], values: list[Any]) -> None:
    """Put the form of a value into one list, None where a value belongs, and the values into another."""
    if isinstance(value, list) and not form:
        # a table; further within, a list is a value, because it has any length
        form.append("[")
        for place, row in enumerate(value):
            form.append("," if place else "")
            _take_apart(row, "", form, values)
        form.append("]")
    elif isinstance(value, dict):
        before = "{"
        for name, inner in value.items():
            form.append(f"{before}{to_text(name)}:")
            _take_apart(inner, name, form, values)
            before = ","
        form.append("}" if value else "{}")
    elif (
        value is None
        or value is True
        or value is False
        or (isinstance(value, str) and (key in _FEW or not value))
        or value == []
    ):
        form.append(to_text(value))
    else:
        form.append(None)
        values.append(value)


def _cut(form: str) -> tuple[str, ...]:
    """Cut a form where its values belong."""
    parts: list[str | None] = []
    values: list[Any] = []
    _take_apart(json.loads(form), "", parts, values)
    if any(type(value) is not int or value != 0 for value in values):
        msg = "a form holds a value"
        raise ValueError(msg)
    pieces = [""]
    for part in parts:
        if part is None:
            pieces.append("")
        else:
            pieces[-1] += part
    return tuple(pieces)
