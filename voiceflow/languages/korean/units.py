"""Units as Korean speakers say them. A unit that is missing here cannot be heard."""

from collections.abc import Mapping
from types import MappingProxyType

#: Unit symbol -> ways to say it in an answer, first the one we read back.
UNIT_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "psi": ("피에스아이", "파운드"),
        "hPa": ("헥토파스칼", "밀리바"),
        "inHg": ("인치",),
        "bar": ("바",),
        "V": ("볼트",),
        "A": ("암페어",),
        "Hz": ("헤르츠",),
        "%": ("퍼센트", "프로"),
        "C": ("도",),
        "°C": ("도",),
        "deg": ("도",),
        "kg": ("킬로그램", "킬로"),
        "lb": ("파운드",),
        "L": ("리터",),
        "qt": ("쿼트",),
        "gal": ("갤런",),
        "ft": ("피트",),
        "kt": ("노트",),
        "h": ("시간",),
        "min": ("분",),
        "s": ("초",),
        "rpm": ("알피엠", "회전"),
    }
)


def read_unit(symbol: str) -> str:
    """Give a unit as text for the voice; an unknown one as it is written, never silence."""
    return UNIT_WORDS.get(symbol, (symbol,))[0]
