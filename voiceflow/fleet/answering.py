"""The answers of many runs out of the store's narrow table."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Select, func, select

from voiceflow.dialogue.state import ItemState
from voiceflow.fleet import tables
from voiceflow.journal.answers import Answer


def query(
    tail: str,
    *,
    since: str | None,
    series: str | None,
    check_id: str | None,
    readings: bool,
) -> Select[Any]:
    """Give the query for the answers that stand; see ``Journal.answers``.

    Raises:
        ValueError: If ``since`` is no time.
    """
    answer, run = tables.answer.c, tables.run.c
    line = (
        answer.run_id,
        answer.check_id,
        answer.item_id,
        answer.series,
        answer.unit,
        answer.minimum,
        answer.maximum,
    )
    # of a line's answers in a run the last one stands
    turn = func.row_number().over(partition_by=line, order_by=(answer.seq.desc(), answer.n.desc()))
    given = select(tables.answer, turn.label("turn")).where(answer.tail == tail)
    if series is not None:
        given = given.where(answer.series == series)
    if check_id is not None:
        given = given.where(answer.check_id == check_id)
    stands = given.subquery("stands")
    found = (
        select(
            stands,
            run.source,
            run.started_at,
            run.started,
            run.signer,
            run.temperature_c,
            run.hours,
        )
        .join_from(stands, tables.run, stands.c.run_id == run.run_id)
        .where(stands.c.turn == 1, stands.c.state.is_not(None))
        .order_by(run.source, stands.c.place, stands.c.n)
    )
    if readings:
        found = found.where(stands.c.series != "", stands.c.value.is_not(None))
    if since is not None:
        moment = datetime.fromisoformat(since)
        found = found.where(
            run.started >= (moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment)
        )
    return found


def answer(tail: str, row: Any) -> Answer:
    """Give one of the rows found.

    Raises:
        ValueError: If its state is not one that this version knows.
    """
    value: Decimal | None = row.value
    return Answer(
        run_id=row.run_id,
        started_at=row.started_at,
        tail=tail,
        signer=row.signer,
        check_id=row.check_id,
        item_id=row.item_id,
        series=row.series,
        state=ItemState(row.state),
        value=value,
        unit="" if value is None else row.unit,
        asked_s=row.asked_s,
        answered_s=row.answered_s,
        took_s=row.took_s,
        temperature_c=row.temperature_c,
        hours=row.hours,
        minimum=row.minimum,
        maximum=row.maximum,
    )
