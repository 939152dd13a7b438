"""Cells of a CSV file that a spreadsheet shows as text and never runs.

A cell that begins with ``=``, ``+``, ``-`` or ``@`` is a formula to a spreadsheet
(OWASP calls it CSV injection), and words in a record are other people's. Such a
cell gets an apostrophe in front, which spreadsheets take as "this is text"; a
number stays a number.
"""

from decimal import Decimal, InvalidOperation

#: Tab, carriage return and line feed are skipped by some readers, with what follows run.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def cell(value: object) -> str:
    """Give a value as the text of one cell; None gives an empty cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = str(value)
    if text.startswith(_FORMULA_STARTS) and not _is_number(text):
        return f"'{text}"
    return text


def _is_number(text: str) -> bool:
    try:
        return Decimal(text).is_finite()
    except InvalidOperation:
        return False
