"""Parts of the aircraft as its file has them -> as limits are worked out from them."""

from voiceflow.checks.aircraft import (
    AircraftFile,
    Battery,
    FuelNeed,
    Hydraulic,
    LimitFile,
    NamedLimit,
    Tyre,
)


def named_limit(written: LimitFile) -> NamedLimit:
    """Give a value with its unit symbol, empty for a bare number."""
    return NamedLimit(value=written.value, unit=written.unit or "")


def tyres(written: AircraftFile) -> dict[str, Tyre]:
    """Give the tyres by name."""
    return {
        name: Tyre(
            pressure=named_limit(tyre.pressure),
            at=named_limit(tyre.at),
            below=named_limit(tyre.below),
            above=None if tyre.above is None else named_limit(tyre.above),
        )
        for name, tyre in written.tyres.items()
    }


def hydraulics(written: AircraftFile) -> dict[str, Hydraulic]:
    """Give the hydraulic contents by name."""
    return {
        name: Hydraulic(
            gauge=each.gauge,
            refill_at=named_limit(each.refill_at),
            full_at=named_limit(each.full_at),
        )
        for name, each in written.hydraulics.items()
    }


def batteries(written: AircraftFile) -> dict[str, Battery]:
    """Give the batteries by name."""
    return {
        name: Battery(
            minimum=None if battery.minimum is None else named_limit(battery.minimum),
            by_temperature=tuple(
                (named_limit(row.at), named_limit(row.minimum)) for row in battery.by_temperature
            ),
        )
        for name, battery in written.batteries.items()
    }


def fuel(written: AircraftFile) -> FuelNeed | None:
    """Give what is needed of fuel."""
    if written.fuel is None:
        return None
    return FuelNeed(
        burn=named_limit(written.fuel.burn),
        reserve=named_limit(written.fuel.reserve),
        taxi=named_limit(written.fuel.taxi),
    )
