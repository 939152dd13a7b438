"""Units as people say them, and as the voice reads them.

Letters are written apart ("p s i"), so that a synthesiser spells them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unit:
    """One unit: ways to hear it, and how it is read for one and for many."""

    heard: tuple[str, ...]
    one: str
    many: str


_CELSIUS = _Unit(
    heard=("degrees", "degrees celsius", "celsius", "degrees c", "degree"),
    one="degree",
    many="degrees",
)

_UNITS: Mapping[str, _Unit] = {
    # pressure
    "psi": _Unit(
        heard=("psi", "p s i", "pounds", "pounds per square inch"), one="p s i", many="p s i"
    ),
    "hPa": _Unit(
        heard=("hectopascals", "hectopascal", "millibars"), one="hectopascal", many="hectopascals"
    ),
    "inHg": _Unit(
        heard=("inches", "inches of mercury", "inch", "inches mercury"), one="inch", many="inches"
    ),
    "kPa": _Unit(heard=("kilopascals", "kilopascal"), one="kilopascal", many="kilopascals"),
    "bar": _Unit(heard=("bar",), one="bar", many="bar"),
    # electrical
    "V": _Unit(heard=("volts", "volt"), one="volt", many="volts"),
    "A": _Unit(heard=("amps", "amp", "amperes"), one="amp", many="amps"),
    "Hz": _Unit(heard=("hertz",), one="hertz", many="hertz"),
    # parts, temperature, angle
    "%": _Unit(heard=("percent", "per cent"), one="percent", many="percent"),
    "C": _CELSIUS,
    "°C": _CELSIUS,
    "deg": _Unit(heard=("degrees", "degree"), one="degree", many="degrees"),
    # mass and quantity
    "kg": _Unit(heard=("kilos", "kilograms", "kilo", "kilogram"), one="kilo", many="kilos"),
    "lb": _Unit(heard=("pounds", "pound"), one="pound", many="pounds"),
    "L": _Unit(heard=("litres", "litre", "liters", "liter"), one="litre", many="litres"),
    "qt": _Unit(heard=("quarts", "quart"), one="quart", many="quarts"),
    "gal": _Unit(heard=("gallons", "gallon"), one="gallon", many="gallons"),
    # distance, speed, time, revolutions
    "ft": _Unit(heard=("feet", "foot"), one="foot", many="feet"),
    "kt": _Unit(heard=("knots", "knot"), one="knot", many="knots"),
    "h": _Unit(heard=("hours", "hour"), one="hour", many="hours"),
    "min": _Unit(heard=("minutes", "minute"), one="minute", many="minutes"),
    "s": _Unit(heard=("seconds", "second"), one="second", many="seconds"),
    "rpm": _Unit(heard=("rpm", "r p m", "revs"), one="r p m", many="r p m"),
}

#: Unit symbol -> ways to say it in an answer, first the one we teach.
UNIT_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {symbol: unit.heard for symbol, unit in _UNITS.items()}
)


def read_unit(symbol: str) -> str:
    """Give a unit as text for the voice, in the plural.

    A bare number (empty symbol) gives an empty string. A unit that the pack does not
    know is read letter by letter, so that nothing is passed over in silence.
    """
    unit = _UNITS.get(symbol)
    if unit is not None:
        return unit.many
    return " ".join(character for character in symbol if character.isalpha()).lower()


def read_unit_of_one(symbol: str) -> str:
    """Give a unit as text for the voice after the number one."""
    unit = _UNITS.get(symbol)
    return unit.one if unit is not None else read_unit(symbol)
