"""Where the decimal mark may be left unspoken ("two niner niner two" for 29.92).

Decided from the scale alone, so that every language leaves it out at the same values.
"""

from decimal import Decimal

from voiceflow.numbers.scale import Scale
from voiceflow.numbers.written import Written


def is_unique_without_mark(written: Written, scale: Scale) -> bool:
    """Tell whether the digits of a value, mark left out, fit no other value.

    All decimals stay, so the digits can otherwise only be those of a whole number:
    2992 on a gauge of 28.00 to 31.00 is 29.92 and nothing else, while 24 on a gauge
    of 0 to 30.0 is 24 and not 2.4. A value below one has no digit to start from and
    keeps its mark.

    Args:
        written: A value on the scale, as written.
        scale: The marks of the gauge.

    Source:
        Settings are said without the mark in FAA Order JO 7110.65, 2-4-17 (row
        marked "from memory" in tests/published/us_orders.yaml); that it is said only
        where it is unique is our own rule.
    """
    if not written.decimals or not written.number:
        return False
    digits = Decimal(written.whole + written.decimals)
    return (-digits if written.negative else digits) not in scale
