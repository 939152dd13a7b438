"""How the readings of a gauge are compared over many runs: what its check file says."""

from pathlib import Path

import pytest

from tests.checks.test_computed import written
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import TrendKind
from voiceflow.checks.shipped import find_check
from voiceflow.errors import CheckFileError
from voiceflow.limits.computed import SOME_DAY, computing


def kind_in(path: Path) -> TrendKind:
    reading = load_check(path, compute=computing(SOME_DAY)).items[0].reading
    assert reading is not None
    return reading.trend


def with_trend(folder: Path, trend: str, minimum: str = "minimum: 100") -> Path:
    path = written(folder)
    text = path.read_text().replace("minimum: {compute: crew-oxygen}", f"{minimum}, trend: {trend}")
    path.write_text(text)
    return path


@pytest.mark.parametrize("kind", TrendKind)
def test_every_kind_can_be_written(tmp_path: Path, kind: TrendKind) -> None:
    assert kind_in(with_trend(tmp_path, kind)) is kind


def test_a_limit_that_is_worked_out_says_what_its_gauge_is(tmp_path: Path) -> None:
    assert kind_in(written(tmp_path)) is TrendKind.OXYGEN
    oil = written(tmp_path, name="engine-oil")
    oil.write_text(oil.read_text().replace("aircraft: crew-oxygen", "aircraft: engine-oil"))
    assert kind_in(oil) is TrendKind.FLOWN_HOURS
    # what is written goes before it
    worked_out = "minimum: {compute: crew-oxygen}"
    assert kind_in(with_trend(tmp_path, "none", worked_out)) is TrendKind.NONE
    plain = written(tmp_path)
    plain.write_text(plain.read_text().replace("{compute: crew-oxygen}", "100"))
    assert kind_in(plain) is TrendKind.PLAIN


def test_a_gas_is_read_as_a_pressure(tmp_path: Path) -> None:
    path = with_trend(tmp_path, "air", "minimum: 10")
    path.write_text(
        path.read_text().replace("scale: {aircraft: crew-oxygen}", "scale: {aircraft: engine-oil}")
    )
    with pytest.raises(CheckFileError) as caught:
        load_check(path)
    (problem,) = caught.value.problems
    assert problem.rule == "trend-unit"
    assert "the reading is in qt" in str(problem)


def test_an_unknown_kind_names_those_there_are(tmp_path: Path) -> None:
    with pytest.raises(CheckFileError) as caught:
        load_check(with_trend(tmp_path, "helium"))
    assert "oxygen" in str(caught.value)


def test_the_shipped_gauges() -> None:
    check = load_check(find_check("cockpit-preparation"))
    kinds = {item.id: item.reading.trend for item in check.items if item.reading is not None}
    assert kinds["crew-oxygen"] is TrendKind.OXYGEN
    assert kinds["nose-tyre"] is TrendKind.AIR
    assert kinds["left-oil"] is kinds["right-oil"] is TrendKind.FLOWN_HOURS
    assert kinds["battery-volts"] is TrendKind.PLAIN
    # filled, burnt or set for every flight
    assert kinds["left-fuel"] is kinds["altimeter"] is TrendKind.NONE
