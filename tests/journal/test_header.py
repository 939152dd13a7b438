from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.journal.header import make_run_id

MOMENTS = st.integers(0, 2**32).map(lambda second: datetime.fromtimestamp(second, UTC))


def test_run_id_is_in_utc() -> None:
    local = datetime(2026, 11, 25, 18, 30, 12, tzinfo=timezone(timedelta(hours=9)))
    assert make_run_id(local, b"\x7f\x3a\xff") == "20261125-093012-7f3a"


@given(earlier=MOMENTS, later=MOMENTS, entropy=st.binary(min_size=2, max_size=4))
def test_run_ids_sort_by_time(earlier: datetime, later: datetime, entropy: bytes) -> None:
    earlier, later = sorted((earlier, later))
    if earlier < later:
        assert make_run_id(earlier, entropy) < make_run_id(later, entropy)


def test_time_without_offset_and_too_little_chance_are_refused() -> None:
    with pytest.raises(ValueError, match="UTC offset"):
        make_run_id(datetime(2026, 11, 25), b"ab")  # noqa: DTZ001 - the fault under test
    with pytest.raises(ValueError, match="two random bytes"):
        make_run_id(datetime(2026, 11, 25, tzinfo=UTC), b"a")
