"""A value as it is written on a gauge: sign, digits before and after the mark.

Spoken forms start from here, since people read out what is written. No words here.
"""

from dataclasses import dataclass
from decimal import Decimal

from voiceflow.numbers.scale import Scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The figures of one value.

    Attributes:
        negative: Below zero.
        whole: Digits before the decimal mark, at least one, leading zeros as the
            gauge has them ("005").
        decimals: Digits after the mark, trailing zeros kept; empty if there is no mark.
    """

    negative: bool
    whole: str
    decimals: str

    @property
    def number(self) -> int:
        """The digits before the mark as a number, without sign."""
        return int(self.whole)

    @property
    def is_whole(self) -> bool:
        """Nothing but zeros after the mark, or no mark."""
        return not self.decimals.strip("0")

    @property
    def short_decimals(self) -> str:
        """The decimals without trailing zeros, yet at least one: "50" -> "5", "00" -> "0".

        Empty if there is no mark.
        """
        return self.decimals.rstrip("0") or self.decimals[:1]


def write(value: Decimal, scale: Scale) -> Written:
    """Write a value as this gauge has it.

    Args:
        value: Any finite number, on the scale or off it (a computed limit may lie
            between marks: it then keeps its own decimals).
        scale: Fixes decimals and leading zeros.

    Raises:
        ValueError: If the value is not finite.
    """
    if not value.is_finite():
        msg = f"only finite numbers can be written, not {value}"
        raise ValueError(msg)
    whole, _, decimals = format(abs(value), "f").partition(".")
    return Written(
        negative=value < 0,
        whole=whole.zfill(scale.digits),
        decimals=decimals.rstrip("0").ljust(scale.places, "0"),
    )
