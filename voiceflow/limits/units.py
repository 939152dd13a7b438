"""Units of gauges: conversions by pint, none by hand."""

from functools import cache
from typing import Any, Final

#: Unit symbols of check and aircraft files, as pint calls them.
_NAMES: Final = {
    "C": "degC",
    "F": "degF",
    "gal": "US_liquid_gallon",
    "qt": "US_liquid_quart",
    "inHg": "conventional_inch_Hg",
    "%": "percent",
}


@cache
def _registry() -> Any:
    # only where something is converted: it takes a third of a second to load
    from pint import UnitRegistry

    registry: Any = UnitRegistry()
    # NIST SP 811 has 3386.389 Pa for the conventional inch of mercury (facts of the trade
    # round it to 33.8639 hPa); pint's own "inHg" is of mercury at 0 C, the same to 1e-6
    registry.define("conventional_inch_Hg = 3386.389 * pascal")
    return registry


def convert(value: float, source: str, target: str) -> float:
    """Convert a value from one unit to another of the same kind.

    Args:
        value: In the unit ``source``.
        source: Symbol as in check files: psi, bar, hPa, inHg, C, F, kg, lb, L, gal (US),
            qt (US), ft, m.
        target: The same.

    Raises:
        ValueError: If one measures something else than the other, or is unknown.
    """
    import pint

    registry = _registry()
    try:
        quantity = registry.Quantity(value, _NAMES.get(source, source))
        return float(quantity.to(_NAMES.get(target, target)).magnitude)
    except (pint.DimensionalityError, pint.UndefinedUnitError) as error:
        msg = f"no way from {source!r} to {target!r}"
        raise ValueError(msg) from error
