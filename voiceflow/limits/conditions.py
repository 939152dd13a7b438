"""What is known of the day."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is known of the day; None: it was not said.

    Attributes:
        temperature_c: Outside, and so of a cylinder that has stood there, degrees Celsius.
        crew: How many breathe of the crew's oxygen.
        hours: Planned of the engines.
        elevation_ft: Of the stand.
        density_kg_l: Of the fuel that is taken on, kilograms a litre.
    """

    temperature_c: Decimal | None = None
    crew: int | None = None
    hours: Decimal | None = None
    elevation_ft: Decimal | None = None
    density_kg_l: Decimal | None = None


#: Nothing was said of the day.
UNKNOWN: Final = Conditions()
#: Some day, for who only looks at a check: nothing is judged by it.
SOME_DAY: Final = Conditions(
    temperature_c=Decimal(15), crew=2, hours=Decimal(2), elevation_ft=Decimal(0)
)
