from datetime import datetime, timedelta, timezone
from decimal import Decimal

import pytest

from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.dialogue.state import HoldCause, ItemState
from voiceflow.phraseology.prompts import FindingReason
from voiceflow.reports import wording
from voiceflow.reports.content import OpenState


def test_every_code_has_words() -> None:
    assert set(wording.STATE) == set(ItemState)
    assert set(wording.OPEN) == set(OpenState)
    assert set(wording.REASON) == set(FindingReason)
    assert set(wording.ACTION) == set(RemedyAction)
    assert set(wording.CAUSE) == set(HoldCause)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        ("1600", "psi", "1600 psi"),
        ("29.90", "inHg", "29.90 inHg"),
        ("-7", "degC", "−7 °C"),
        ("1E+3", "", "1000"),
        ("-0.5", "%", "−0.5 %"),
    ],
)
def test_quantities(value: str, unit: str, text: str) -> None:
    assert wording.quantity(Decimal(value), unit).replace("\N{NO-BREAK SPACE}", " ") == text


@pytest.mark.parametrize(
    ("bounds", "text"),
    [
        ({}, ""),
        ({"minimum": 5}, "at least 5 V"),
        ({"maximum": 9}, "at most 9 V"),
        ({"minimum": 5, "maximum": 9}, "5 to 9 V"),
        ({"minimum": 5, "caution_below": 6}, "at least 5 V; caution below 6 V"),
        ({"caution_above": 8}, "caution above 8 V"),
    ],
)
def test_limits(bounds: dict[str, int], text: str) -> None:
    limit = Limit(**{name: Decimal(bound) for name, bound in bounds.items()})
    assert wording.limit(limit, "V").replace("\N{NO-BREAK SPACE}", " ") == text


@pytest.mark.parametrize(
    ("length_s", "text"),
    [
        (0.0, "0 s"),
        (8.25, "8.2 s"),
        (10.0, "10 s"),
        (59.97, "1 min 00 s"),
        (125.0, "2 min 05 s"),
        (3599.6, "1 h 00 min"),
        (3720.0, "1 h 02 min"),
    ],
)
def test_lengths_of_time(length_s: float, text: str) -> None:
    assert wording.seconds(length_s).replace("\N{NO-BREAK SPACE}", " ") == text


def test_day_tells_its_offset() -> None:
    seoul = timezone(timedelta(hours=9))
    assert wording.day(datetime(2026, 11, 25, 18, 30, 12, tzinfo=seoul)) == (
        "2026-11-25 18:30:12 UTC+09:00"
    )
