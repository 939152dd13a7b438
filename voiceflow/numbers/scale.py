"""The values that a gauge can show: lowest mark, highest mark, step."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The marks of one gauge.

    A reading off the marks does not exist: it can be neither said nor heard.

    Attributes:
        lowest: Lowest mark.
        highest: Highest mark, not below the lowest.
        step: Distance between marks, above zero.
        digits: Digits before the decimal mark that the gauge is always written with:
            3 for headings ("zero zero five"), 4 for transponder codes and clock
            times, 1 where no leading zeros are written.

    Raises:
        ValueError: If the marks are in the wrong order, the step is not above zero,
            or there is less than one digit.
    """

    lowest: Decimal
    highest: Decimal
    step: Decimal
    digits: int = 1

    def __post_init__(self) -> None:
        if self.step <= 0:
            msg = f"step must be above zero, not {self.step}"
            raise ValueError(msg)
        if self.highest < self.lowest:
            msg = f"highest mark {self.highest} lies below lowest mark {self.lowest}"
            raise ValueError(msg)
        if self.digits < 1:
            msg = f"a gauge is written with at least one digit, not {self.digits}"
            raise ValueError(msg)

    @property
    def places(self) -> int:
        """Digits after the decimal mark that a value on this scale is written with."""
        places = 0
        for mark in (self.lowest, self.step):
            exponent = mark.normalize().as_tuple().exponent
            if isinstance(exponent, int):
                places = max(places, -exponent)
        return places

    def __len__(self) -> int:
        return int((self.highest - self.lowest) // self.step) + 1

    def __contains__(self, value: object) -> bool:
        return (
            isinstance(value, Decimal)
            and value.is_finite()
            and self.lowest <= value <= self.highest
            and (value - self.lowest) % self.step == 0
        )

    def values(self) -> Iterator[Decimal]:
        """Give every mark, rising, each with the scale's number of decimal places."""
        quantum = Decimal(1).scaleb(-self.places)
        for index in range(len(self)):
            yield (self.lowest + index * self.step).quantize(quantum)
