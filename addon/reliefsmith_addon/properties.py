# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipe as Blender properties, generated from the core's declarations: nothing is declared twice."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from dataclasses import MISSING, fields, replace
from typing import Any

import bpy

from reliefsmith.recipe.recipe import LETTERING, MARKS, SCHEMA, Recipe, toml_value
from reliefsmith.recipe.settings import REQUIRED, Spec, specs

from .labels import label, title, tooltip

# Blender keeps numbers in single precision: six significant digits come back as they were typed.
_DIGITS = 6
_MOST_BEGIN = 60.0  # a number that was never set begins in the middle of its bounds' magnitudes, here at most
_UNSET = "use_"
_PREFIX = "RELIEFSMITH_PG_"
_EXACT_KINDS = ("number", "integer", "flag", "text", "choice", "color", "point", "size")
_TABLES = "tables"
# A list of colors is a list of rows with a well for each color of an entry.
_WELLS = {
    "colors": {"color": Spec("color", "a color of the picture")},
    "color-pairs": {
        "color": Spec("color", "the color that is given up"),
        "into": Spec("color", "the color that takes its areas"),
    },
}
_COLOR_OR_NUMBER = "color-or-number"
_LISTS = {"marks": MARKS, "lettering": LETTERING}  # of tables, above the sections

_classes: list[type] = []
_listeners: list[Callable[[Any, bpy.types.Context], None]] = []


def can_be_unset(spec: Spec) -> bool:
    """Return whether a setting has a state beside its value: not set, or "auto" for a color."""
    return spec.optional or (spec.kind == "color" and bool(spec.choices))


def _numbers(spec: Spec, default: Any) -> dict[str, Any]:
    given: dict[str, Any] = {} if default is None else {"default": default}
    for word, bound in (("min", spec.low), ("max", spec.high)):
        if bound is not None:
            given[word] = int(bound) if spec.kind == "integer" else float(bound)
    if default is None and spec.kind == "number":  # a value to begin with, once it is set
        low, high = spec.low or 0.0, spec.high or 0.0
        given["default"] = min(_MOST_BEGIN, math.sqrt(low * high) if low >= 0 else high)
    if spec.kind != "integer":
        given["precision"] = 3
        given["subtype" if spec.kind == "number" else "unit"] = "DISTANCE" if spec.unit == "mm" else "NONE"
        if given.get("unit") == "DISTANCE":
            given["unit"] = "LENGTH"
    return given


def property_of(spec: Spec, owner: str, key: str, default: Any) -> Any:  # noqa: PLR0911 - one return for each kind
    """Return the Blender property of one setting of a section or table."""
    about: dict[str, Any] = {
        "name": label(owner, key, spec.unit),
        "description": tooltip(spec),
        "update": touched,
    }
    props = bpy.props
    if spec.kind in ("number", "integer"):
        make = props.IntProperty if spec.kind == "integer" else props.FloatProperty
        return make(**about, **_numbers(spec, default))
    if spec.kind in ("point", "size"):
        return props.FloatVectorProperty(**about, size=2, **_numbers(spec, default))
    if spec.kind == "flag":
        return props.BoolProperty(**about, default=default)
    if spec.kind == "choice":
        items = [(choice, title(choice), "") for choice in spec.choices]
        return props.EnumProperty(**about, items=items, default=default)
    if spec.kind == "color":
        start = bytes_of(default) if str(default).startswith("#") else (0, 0, 0)
        start = [value / 255 for value in start]
        return props.FloatVectorProperty(**about, size=3, subtype="COLOR_GAMMA", min=0, max=1, default=start)
    if spec.kind == "text":
        return props.StringProperty(**about, default=default or "", maxlen=int(spec.high or 0))
    if spec.kind == _TABLES or spec.kind in _WELLS:
        about.pop("update")  # its rows tell of their changes
        return props.CollectionProperty(**about, type=_row_class(spec))
    return props.StringProperty(**about, default=_list_text(default or ()))


def _properties_of(spec: Spec, owner: str, key: str, default: Any) -> dict[str, Any]:
    """Return the Blender properties of one setting; one that is a color or a number has one for each kind."""
    if spec.kind != _COLOR_OR_NUMBER:
        return {key: property_of(spec, owner, key, default)}
    kinds = {as_color(key): "color", as_number(key): "number"}
    made = {name: property_of(replace(spec, kind=kind), owner, key, None) for name, kind in kinds.items()}
    return {**made, _is_color(key): bpy.props.BoolProperty(options={"HIDDEN"})}


def as_color(key: str) -> str:
    """Return the name of the property that holds a color or number as a color."""
    return f"{key}_color"


def as_number(key: str) -> str:
    """Return the name of the property that holds a color or number as a number."""
    return f"{key}_number"


def _is_color(key: str) -> str:
    return f"{key}_is_color"


def _row_class(spec: Spec) -> type[bpy.types.PropertyGroup]:
    """Return the registered property group of one row of a list; made once for each kind of row."""
    kind = spec.kind.replace("-", "_") if spec.row is None else spec.row.__name__.lower()
    for known in _classes:
        if known.__name__ == f"{_PREFIX}row_{kind}":
            return known
    owner = spec.row.NAME if spec.row else ""
    given = {item.name: item.default for item in fields(spec.row)} if spec.row else {}
    keys = _row_specs(spec)
    defaults = {key: _first(own, given.get(key, MISSING)) for key, own in keys.items()}
    return add(_group_class(f"row_{kind}", owner, keys, defaults))


def _row_specs(spec: Spec) -> dict[str, Spec]:
    """Return what is known of each setting in a row of a list."""
    return _WELLS[spec.kind] if spec.row is None else specs(spec.row)


def _first(spec: Spec, default: Any) -> Any:
    """Return the value that a new table begins with; MISSING stands for one that must be given."""
    if default is not MISSING and default is not REQUIRED:
        return default
    return {"choice": (*spec.choices, "")[0], "color": "#808080", "text": ""}.get(spec.kind)


def _group_class(
    name: str, owner: str, keys: dict[str, Spec], defaults: dict[str, Any]
) -> type[bpy.types.PropertyGroup]:
    """Return the property group of one section of the recipe, or of one row in a list."""
    annotations: dict[str, Any] = {}
    for key, spec in keys.items():
        if can_be_unset(spec):
            words = f"Set {label(owner, key, spec.unit)}"
            annotations[_UNSET + key] = bpy.props.BoolProperty(
                name=words, description=f"Set it by hand: {spec.help}", update=touched
            )
        annotations |= _properties_of(spec, owner, key, defaults[key])
    body = {"__annotations__": annotations, "__doc__": f"Settings of {owner or name}"}
    return type(_PREFIX + name, (bpy.types.PropertyGroup,), body)


def section_class(name: str, section: Any) -> type[bpy.types.PropertyGroup]:
    """Return the property group of one section of the recipe."""
    keys = specs(type(section))
    return _group_class(name, name, keys, {key: getattr(section, key) for key in keys})


def _list_text(value: Any) -> str:
    if isinstance(value, (list, tuple)) and not value:
        return ""
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_list_text(item) for item in value) + "]"
    return toml_value(value)


def hex_of(rgb: Any) -> str:
    """Return an sRGB color of Blender's, 0 to 1, as the recipe writes it."""
    return "#" + "".join(f"{round(255 * value):02x}" for value in rgb)


def bytes_of(color: str) -> list[int]:
    """Return the three bytes of a color as the recipe writes it."""
    return [int(color[i : i + 2], 16) for i in (1, 3, 5)]


def rounded(value: float) -> float:
    """Return a number in Blender's single precision as it was typed."""
    return float(f"{value:.{_DIGITS}g}")


def place(values: Any) -> list[float]:
    """Return a place in mm to three digits, a micrometer: what a click gives."""
    return [round(value, 3) for value in values]


def _value(group: Any, key: str, spec: Spec) -> Any:
    """Return the recipe's value of one property."""
    if can_be_unset(spec) and not getattr(group, _UNSET + key):
        return None if spec.optional else "auto"
    if spec.kind == _COLOR_OR_NUMBER:
        kind, name = ("color", as_color) if getattr(group, _is_color(key)) else ("number", as_number)
        return _plain(getattr(group, name(key)), kind)
    return _plain(getattr(group, key), spec.kind, spec)


def _plain(value: Any, kind: str, spec: Spec | None = None) -> Any:
    """Return the recipe's value of a property's value."""
    if kind == _TABLES:
        return [_table(row, spec) for row in value]
    if kind in _WELLS:
        entries = [tuple(hex_of(getattr(row, key)) for key in _WELLS[kind]) for row in value]
        return entries if len(_WELLS[kind]) > 1 else [color for (color,) in entries]
    if kind == "number":
        return rounded(value)
    if kind in ("point", "size"):
        return tuple(rounded(item) for item in value)
    if kind == "color":
        return hex_of(value)
    return value if kind in _EXACT_KINDS else tomllib.loads("value = " + (value or "[]"))["value"]


def _table(row: Any, spec: Spec) -> dict[str, Any]:
    """Return one table of a list, without what is unset."""
    values = {key: _value(row, key, own) for key, own in specs(spec.row).items()}
    return {key: value for key, value in values.items() if value is not None}


def _assign(group: Any, key: str, spec: Spec, value: Any) -> None:
    """Set one property to the recipe's value."""
    if spec.kind == _TABLES or spec.kind in _WELLS:
        _assign_rows(getattr(group, key), spec, value)
        return
    if can_be_unset(spec):
        is_set = value is not None and value != "auto"
        setattr(group, _UNSET + key, is_set)
        if not is_set:
            return
    if spec.kind == _COLOR_OR_NUMBER:
        setattr(group, _is_color(key), isinstance(value, str))
        key = as_color(key) if isinstance(value, str) else as_number(key)
    if isinstance(value, str) and spec.kind in ("color", _COLOR_OR_NUMBER):
        value = [part / 255 for part in bytes_of(value)]
    elif spec.kind not in (*_EXACT_KINDS, _COLOR_OR_NUMBER):
        value = _list_text(value)
    setattr(group, key, value)


def _assign_rows(rows: Any, spec: Spec, entries: Any) -> None:
    """Fill a list with the recipe's tables, or with its colors."""
    rows.clear()
    for entry in entries:
        row = rows.add()
        colors = iter((entry,) if isinstance(entry, str) else entry if isinstance(entry, tuple) else ())
        for key, own in _row_specs(spec).items():
            _assign(row, key, own, next(colors) if spec.row is None else getattr(entry, key))


def to_recipe(state: Any) -> Recipe:
    """Return the recipe that the properties of a scene say.

    Raises
    ------
    RecipeError
        If the properties together make no valid recipe.
    """
    values: dict[str, Any] = {"audience": state.audience}
    for name, spec in _LISTS.items():
        values[name] = _value(state, name, spec)
    for name, section in Recipe().sections():
        group = getattr(state, name)
        values[name] = {key: _value(group, key, spec) for key, spec in specs(type(section)).items()}
    return Recipe.from_mapping(values)


def from_recipe(state: Any, recipe: Recipe) -> None:
    """Set the properties of a scene to a recipe."""
    state.audience = recipe.audience
    for name, spec in _LISTS.items():
        _assign(state, name, spec, getattr(recipe, name))
    state.schema = SCHEMA
    for name, section in recipe.sections():
        for key, spec in specs(type(section)).items():
            _assign(getattr(state, name), key, spec, getattr(section, key))


def touched(group: Any, context: bpy.types.Context) -> None:
    """Pass a change on to whoever listens; see `listen`."""
    for listener in _listeners:
        listener(group, context)


def listen(listener: Callable[[Any, bpy.types.Context], None]) -> None:
    """Have `listener` called with the group after every change of a setting, until `unregister`."""
    _listeners.append(listener)


def add(group: type) -> type:
    """Register a group, to be taken away again by `clear`."""
    bpy.utils.register_class(group)
    _classes.append(group)
    return group


def clear() -> None:
    """Take all groups away again, the last one first, and forget who listens."""
    _listeners.clear()
    while _classes:
        bpy.utils.unregister_class(_classes.pop())
