"""JSON Schema of check, aircraft, plan and personal files, for editors.

The texts are shipped beside the check files (``check.schema.json`` and so on); ``write_schemas`` writes them anew.
"""

import json
from pathlib import Path

from pydantic import BaseModel

from voiceflow.checks.aircraft import AircraftFile
from voiceflow.checks.file import CheckFile
from voiceflow.checks.own_words import OwnWordsFile
from voiceflow.checks.plan import PlanFile

SCHEMAS: dict[str, type[BaseModel]] = {
    "check.schema.json": CheckFile,
    "aircraft.schema.json": AircraftFile,
    "own-words.schema.json": OwnWordsFile,
    "plan.schema.json": PlanFile,
}


def schema_text(name: str) -> str:
    """Give the text of one schema.

    Args:
        name: A key of ``SCHEMAS``.
    """
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **SCHEMAS[name].model_json_schema(by_alias=True),
    }
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def write_schemas(folder: Path) -> None:
    """Write the schemas into a folder."""
    for name in SCHEMAS:
        (folder / name).write_text(schema_text(name), encoding="utf-8")
