"""Kinds of value that check files and aircraft files share, as pydantic types.

Each refuses with what is wrong and what to do (``refusal``); places are added by
``validation.py``, which knows the text.
"""

import re
from decimal import Decimal
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError

#: A check may last hours, a wait may not outlast a duty day.
LONGEST_WAIT_S = 24 * 3600

_SECONDS = {"s": 1, "min": 60, "h": 3600}
_DURATION = r"[0-9]+(\.[0-9]+)? ?(s|min|h)( [0-9]+(\.[0-9]+)? ?(s|min|h))*"
_DURATION_PART = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(s|min|h)")
_ID = r"[a-z0-9]+(-[a-z0-9]+)*"


def refusal(rule: str, what: str, remedy: str) -> PydanticCustomError:
    """Make the error of a value that cannot stand.

    Args:
        rule: Short name of the rule.
        what: What is wrong, without a full stop.
        remedy: What to do, a sentence.
    """
    return PydanticCustomError("refused", "{what}", {"rule": rule, "what": what, "remedy": remedy})


def shown(value: object) -> str:
    """Give a value as a message shows it: text in quotes, all of it short."""
    match value:
        case None:
            return "nothing"
        case bool():
            return str(value).lower()
        case dict():
            return "a group of keys"
        case list():
            return "a list"
        case str():
            return repr(value if len(value) <= 40 else f"{value[:37]}...")
        case _:
            return str(value)


def _number(value: object) -> Decimal:
    if isinstance(value, Decimal):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return Decimal(value)
    raise refusal(
        "wrong-type",
        f"a number is wanted, not {shown(value)}",
        "Write plain figures such as 1500 or 24.5, without unit or quotes.",
    )


def _text(value: object) -> str:
    if not isinstance(value, str):
        remedy = "Write words."
        if isinstance(value, bool | int | Decimal):
            remedy = f'If it is meant as text, put it in quotes: "{shown(value)}".'
        raise refusal("wrong-type", f"text is wanted, not {shown(value)}", remedy)
    if not value.strip():
        raise refusal("empty-text", "the text is empty", "Write the words, or take the key out.")
    if len(value) > 300:
        raise refusal("long-text", "the text is longer than 300 characters", "Make it shorter.")
    return " ".join(value.split())


def _revision(value: object) -> str:
    if isinstance(value, int | Decimal) and not isinstance(value, bool):
        return str(value)
    return _text(value)


def _name(value: object) -> str:
    text = _text(value)
    if not re.fullmatch(_ID, text):
        raise refusal(
            "bad-name",
            f"{shown(value)} is not a short name",
            "Use small letters a to z, figures and single hyphens, such as crew-oxygen.",
        )
    return text


def _duration_s(value: object) -> float:
    if not isinstance(value, str) or not re.fullmatch(_DURATION, value):
        raise refusal(
            "bad-duration",
            f"a time with its unit is wanted, not {shown(value)}",
            'Write it as "10 s", "7 min" or "1 min 30 s".',
        )
    seconds = sum(
        (Decimal(number) * _SECONDS[unit] for number, unit in _DURATION_PART.findall(value)),
        Decimal(0),
    )
    if not 0 < seconds <= LONGEST_WAIT_S:
        raise refusal(
            "bad-duration",
            f"{shown(value)} is not a time that can be waited for",
            "Give more than 0 s and not more than 24 h.",
        )
    return float(seconds)


def _digits(value: object) -> int:
    if isinstance(value, Decimal) and value in {1, 2, 3, 4, 5, 6}:
        return int(value)
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 6:
        return value
    raise refusal("wrong-type", f"digits {shown(value)} cannot be", "Give 1 to 6.")


def _is_true(value: object) -> bool:
    if not isinstance(value, bool):
        raise refusal(
            "wrong-type", f"true or false is wanted, not {shown(value)}", "Write true or false."
        )
    return value


Number = Annotated[Decimal, BeforeValidator(_number), WithJsonSchema({"type": "number"})]
Text = Annotated[
    str,
    BeforeValidator(_text),
    WithJsonSchema({"type": "string", "minLength": 1, "maxLength": 300}),
]
Revision = Annotated[
    str, BeforeValidator(_revision), WithJsonSchema({"type": ["string", "integer", "number"]})
]
Name = Annotated[
    str, BeforeValidator(_name), WithJsonSchema({"type": "string", "pattern": f"^{_ID}$"})
]
DurationS = Annotated[
    float,
    BeforeValidator(_duration_s),
    WithJsonSchema({"type": "string", "pattern": f"^{_DURATION}$", "examples": ["10 s", "7 min"]}),
]
Digits = Annotated[
    int, BeforeValidator(_digits), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 6})
]
TrueOrFalse = Annotated[bool, BeforeValidator(_is_true), WithJsonSchema({"type": "boolean"})]


class FileModel(BaseModel):
    """A group of keys in a file: no key that is not known, nothing changed later."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=False)


class ScaleMarks(FileModel):
    """The marks of a gauge: no reading exists outside or between them."""

    lowest: Number = Field(alias="from", description="Lowest mark of the gauge.")
    highest: Number = Field(alias="to", description="Highest mark of the gauge.")
    step: Number = Field(description="Distance between two marks that people tell apart.")
    digits: Digits = Field(
        default=1,
        description="Digits before the decimal mark that are always written and said: 3 for "
        "headings (080), 4 for codes and times (0540).",
    )


class AircraftReference(FileModel):
    """A value that the aircraft file holds, because tails differ."""

    aircraft: Name = Field(description="Its name in the aircraft file.")


class ComputedReference(FileModel):
    """A value that is worked out for the day: from the aircraft file and the conditions."""

    compute: Name = Field(
        description="What is worked out: crew-oxygen, engine-oil, fuel-required, tyre-minimum-NAME ..."
    )


def _bound_tag(value: Any) -> str:
    if isinstance(value, dict):
        return "ComputedReference" if "compute" in value else "AircraftReference"
    return "number"


def _scale_tag(value: Any) -> str:
    if isinstance(value, dict) and "aircraft" in value:
        return "AircraftReference"
    return "ScaleMarks"


_REFERENCE_SCHEMA = {
    "type": "object",
    "properties": {
        "aircraft": {
            "type": "string",
            "pattern": f"^{_ID}$",
            "description": "Name of a limit in the aircraft file.",
        }
    },
    "required": ["aircraft"],
    "additionalProperties": False,
}

_COMPUTED_SCHEMA = {
    "type": "object",
    "properties": {
        "compute": {
            "type": "string",
            "pattern": f"^{_ID}$",
            "description": "What is worked out for the day: crew-oxygen, engine-oil, "
            "fuel-required, tyre-minimum-NAME, hydraulic-minimum-NAME, battery-minimum-NAME ...",
        }
    },
    "required": ["compute"],
    "additionalProperties": False,
}

#: A limit: a number, the name of one in the aircraft file, or what is to be worked out.
Bound = Annotated[
    Annotated[Number, Tag("number")]
    | Annotated[AircraftReference, Tag("AircraftReference")]
    | Annotated[ComputedReference, Tag("ComputedReference")],
    Discriminator(_bound_tag),
    WithJsonSchema({"anyOf": [{"type": "number"}, _REFERENCE_SCHEMA, _COMPUTED_SCHEMA]}),
]


def _fixed_tag(value: Any) -> str:
    return "AircraftReference" if isinstance(value, dict) else "number"


#: A value that does not change with the day: a number, or one of the aircraft file's limits.
Fixed = Annotated[
    Annotated[Number, Tag("number")] | Annotated[AircraftReference, Tag("AircraftReference")],
    Discriminator(_fixed_tag),
    WithJsonSchema({"anyOf": [{"type": "number"}, _REFERENCE_SCHEMA]}),
]

#: The marks of a gauge, or the name of a gauge in the aircraft file.
ScaleOrReference = Annotated[
    Annotated[ScaleMarks, Tag("ScaleMarks")]
    | Annotated[AircraftReference, Tag("AircraftReference")],
    Discriminator(_scale_tag),
]
