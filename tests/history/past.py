"""Made-up readings of runs before, for tests."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from CoolProp.CoolProp import PropsSI

from voiceflow.checks.model import Limit, TrendKind
from voiceflow.history.trends import Gauge

PA_A_PSI = 6894.757293168
FIRST = datetime(2026, 10, 1, 6, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class PastAnswer:
    """What a trend needs of an answer."""

    run_id: str
    started_at: str
    answered_s: float
    series: str
    value: Decimal | None
    unit: str
    temperature_c: Decimal | None = None
    hours: Decimal | None = None


def past(
    values: Sequence[float | str],
    *,
    series: str = "oxygen",
    unit: str = "psi",
    every_h: float = 24.0,
    temperatures: Sequence[float | None] | None = None,
    hours: str | Sequence[str | None] | None = None,
) -> list[PastAnswer]:
    """Make readings, one a run, so many hours apart."""
    found = []
    for number, value in enumerate(values):
        degrees = None if temperatures is None else temperatures[number]
        flown = hours if hours is None or isinstance(hours, str) else hours[number]
        started = FIRST + timedelta(hours=every_h * number)
        found.append(
            PastAnswer(
                run_id=f"run-{number}",
                started_at=started.isoformat(),
                answered_s=90.0,
                series=series,
                value=Decimal(str(value)),
                unit=unit,
                temperature_c=None if degrees is None else Decimal(str(degrees)),
                hours=None if flown is None else Decimal(flown),
            )
        )
    return found


def gauge(
    kind: TrendKind = TrendKind.PLAIN,
    *,
    series: str = "oxygen",
    unit: str = "psi",
    mark: float = 10.0,
    minimum: str | None = "1200",
    maximum: str | None = None,
) -> Gauge:
    """Make a gauge: oxygen, by 10 psi, at least 1200."""
    return Gauge(
        series=series,
        unit=unit,
        kind=kind,
        mark=mark,
        limit=Limit(
            minimum=None if minimum is None else Decimal(minimum),
            maximum=None if maximum is None else Decimal(maximum),
        ),
    )


def reference_density(gauge_psi: float, temperature_c: float) -> float:
    """Give the density of oxygen by CoolProp's reference equation, kg/m3."""
    pascal = gauge_psi * PA_A_PSI + 101_325
    return float(PropsSI("D", "P", pascal, "T", temperature_c + 273.15, "Oxygen"))


def reference_psi(density: float, temperature_c: float) -> float:
    """Give what a gauge shows of it, psi."""
    pascal = float(PropsSI("P", "D", density, "T", temperature_c + 273.15, "Oxygen"))
    return (pascal - 101_325) / PA_A_PSI


def shown_psi(gauge_psi: float, from_c: float, to_c: float) -> float:
    """Give what the gauge of a cylinder shows at another temperature, by that equation."""
    return reference_psi(reference_density(gauge_psi, from_c), to_c)
