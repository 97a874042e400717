"""The recipe as JSON Schema (draft 2020-12), made from the declarations of the settings.

Editors that know JSON Schema then complete keys and show bounds and help while a recipe is written. The file
in the data package is written by `python -m reliefsmith.recipe.schema`; a test holds it to the declarations.
"""

from __future__ import annotations

import json
import sys
from dataclasses import MISSING, fields
from typing import Any

from .recipe import AUDIENCES, LETTERING, MARKS, SCHEMA, Recipe
from .settings import Spec, specs

__all__ = ["recipe_schema", "schema_text"]

_COLOR = "^#[0-9a-fA-F]{6}$"


def recipe_schema() -> dict[str, Any]:
    """Return the schema of a recipe; unknown keys are refused, as the recipe refuses them.

    Examples
    --------
    >>> recipe_schema()["properties"]["heights"]["properties"]["base_mm"]["minimum"]
    0.2
    """
    properties: dict[str, Any] = {
        "schema": {"type": "integer", "minimum": 1, "maximum": SCHEMA},
        "audience": {"enum": list(AUDIENCES), "description": "who uses the piece", "default": "adults"},
        "marks": _value(MARKS),
        "lettering": _value(LETTERING),
    }
    for name, section in Recipe().sections():
        about = (type(section).__doc__ or "").splitlines()[0]
        properties[name] = {**_table(type(section)), "description": about}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "reliefsmith recipe",
        "type": "object",
        "properties": properties,
        "additionalProperties": False,
    }


def schema_text() -> str:
    """Return the schema as the text of its file."""
    return json.dumps(recipe_schema(), indent=1, ensure_ascii=False) + "\n"


def _table(kind: type[Any]) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    required: list[str] = []
    for item in fields(kind):
        properties[item.name] = _value(specs(kind)[item.name])
        if item.default is MISSING:
            required.append(item.name)
        elif item.default is not None:
            properties[item.name]["default"] = _plain(item.default)
    table = {"type": "object", "additionalProperties": False, "properties": properties}
    return {**table, "required": required} if required else table


def _value(spec: Spec) -> dict[str, Any]:
    unit = f" ({spec.unit})" if spec.unit else ""
    return {**_shape(spec), "description": spec.help + unit}


def _shape(spec: Spec) -> dict[str, Any]:
    number = {"type": "number", "minimum": spec.low, "maximum": spec.high}
    pair = {"type": "array", "items": number, "minItems": 2, "maxItems": 2}
    color = {"type": "string", "pattern": _COLOR}
    shapes: dict[str, dict[str, Any]] = {
        "number": number,
        "integer": {**number, "type": "integer"},
        "flag": {"type": "boolean"},
        "text": {"type": "string", **({} if spec.high is None else {"maxLength": int(spec.high)})},
        "choice": {"enum": list(spec.choices)},
        "color": {"anyOf": [color, {"enum": list(spec.choices)}]} if spec.choices else color,
        "color-or-number": {"anyOf": [color, number]},
        "colors": _list(color, spec.high),
        "color-pairs": _list({"type": "array", "items": color, "minItems": 2, "maxItems": 2}, spec.high),
        "point": pair,
        "size": pair,
        "box": {"type": "array", "items": number, "minItems": 4, "maxItems": 4},
        "polygon": _list(pair, spec.most),
    }
    if spec.kind == "tables":
        return _list(_table(spec.row) if spec.row else {}, spec.most)
    return shapes[spec.kind]


def _list(items: dict[str, Any], most: float | None) -> dict[str, Any]:
    return {"type": "array", "items": items, **({} if most is None else {"maxItems": int(most)})}


def _plain(value: Any) -> Any:
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


if __name__ == "__main__":
    sys.stdout.write(schema_text())
