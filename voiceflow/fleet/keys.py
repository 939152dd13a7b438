"""Rows by many keys at once: the keys travel as arrays, however many they are."""

from collections.abc import Collection, Iterable
from typing import Any

from sqlalchemy import ARRAY, Column, ColumnElement, Integer, Text, and_, any_, func, literal
from sqlalchemy.sql.selectable import TableValuedAlias

Key = tuple[str, int]


def among(column: Column[Any], values: Collection[Any]) -> ColumnElement[bool]:
    """Give the condition that a column is one of some values."""
    return column == any_(literal(list(values), ARRAY(column.type)))


class EventKeys:
    """The names of some events: run and place in it."""

    def __init__(self, keys: Iterable[Key]) -> None:
        # each once, or its rows would come twice: an event may stand in two journals
        pairs = set(keys)
        runs = literal([run_id for run_id, _ in pairs], ARRAY(Text))
        places = literal([seq for _, seq in pairs], ARRAY(Integer))
        named = func.unnest(runs, places).table_valued("run_id", "seq")
        self.table: TableValuedAlias = named.render_derived(name="wanted")

    def match(self, run_id: Column[Any], seq: Column[Any]) -> ColumnElement[bool]:
        """Give the condition under which a row belongs to one of these events."""
        return and_(self.table.c.run_id == run_id, self.table.c.seq == seq)
