# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipe as Blender properties, generated from the core's declarations: nothing is declared twice."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from dataclasses import MISSING, fields, replace
from typing import Any

import bpy

from reliefsmith.recipe import MARKS, SCHEMA, Recipe, toml_value
from reliefsmith.settings import REQUIRED, Spec, specs

# Blender keeps numbers in single precision: six significant digits come back as they were typed.
_DIGITS = 6
_MOST_BEGIN = 60.0  # a number that was never set begins in the middle of its bounds' magnitudes, here at most
_UNSET = "use_"
_PREFIX = "RELIEFSMITH_PG_"
_EXACT_KINDS = ("number", "integer", "flag", "text", "choice", "color", "point", "size")
_TABLES = "tables"
_COLOR_OR_NUMBER = "color-or-number"

_classes: list[type] = []
_listeners: list[Callable[[Any, bpy.types.Context], None]] = []


def section_names() -> list[str]:
    """Return the names of the recipe's sections, in the order of the work."""
    return [name for name, _ in Recipe().sections()]


def label(key: str, unit: str = "") -> str:
    """Return the words of a key; a unit that Blender does not write beside the value stands in brackets.

    "border_mm" is "Border", "flow_mm3_s" is "Flow (mm3/s)".
    """
    words = key.removesuffix("_" + unit.replace("/", "_")) if unit else key
    brackets = f" ({unit})" if unit not in ("", "mm") else ""
    return words.replace("_", " ").title() + brackets


def title(choice: str) -> str:
    """Return the words of a choice, such as "No Link" for "no-link"."""
    return label(choice.replace("-", "_"))


def can_be_unset(spec: Spec) -> bool:
    """Return whether a setting has a state beside its value: not set, or "auto" for a color."""
    return spec.optional or (spec.kind == "color" and bool(spec.choices))


def tooltip(spec: Spec) -> str:
    text = spec.help[:1].upper() + spec.help[1:]
    return f"{text} ({spec.unit})" if spec.unit else text


def _numbers(spec: Spec, default: Any) -> dict[str, Any]:
    given: dict[str, Any] = {} if default is None else {"default": default}
    for word, bound in (("min", spec.low), ("max", spec.high)):
        if bound is not None:
            given[word] = int(bound) if spec.kind == "integer" else float(bound)
    if default is None and spec.kind == "number":  # a value to begin with, once it is set
        given["default"] = min(_MOST_BEGIN, math.sqrt((spec.low or 0.0) * (spec.high or 0.0)))
    if spec.kind != "integer":
        given["precision"] = 3
        given["subtype" if spec.kind == "number" else "unit"] = "DISTANCE" if spec.unit == "mm" else "NONE"
        if given.get("unit") == "DISTANCE":
            given["unit"] = "LENGTH"
    return given


def property_of(spec: Spec, key: str, default: Any) -> Any:  # noqa: PLR0911 - one return for each kind
    """Return the Blender property of one setting."""
    about: dict[str, Any] = {"name": label(key, spec.unit), "description": tooltip(spec), "update": touched}
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
    if spec.kind == _TABLES:
        about.pop("update")  # its rows tell of their changes
        return props.CollectionProperty(**about, type=_row_class(spec))
    return props.StringProperty(**about, default=_list_text(default or ()))


def _properties_of(spec: Spec, key: str, default: Any) -> dict[str, Any]:
    """Return the Blender properties of one setting; one that is a color or a number has one for each kind."""
    if spec.kind != _COLOR_OR_NUMBER:
        return {key: property_of(spec, key, default)}
    kinds = {as_color(key): "color", as_number(key): "number"}
    made = {name: property_of(replace(spec, kind=kind), key, None) for name, kind in kinds.items()}
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
    """Return the registered property group of one table of a list; made once for each kind of table."""
    name = "row_" + spec.row.__name__.lower()
    for known in _classes:
        if known.__name__ == _PREFIX + name:
            return known
    defaults = {item.name: item.default for item in fields(spec.row)}
    made = _group_class(
        name, spec.row, {key: _first(own, defaults[key]) for key, own in specs(spec.row).items()}
    )
    return add(made)


def _first(spec: Spec, default: Any) -> Any:
    """Return the value that a new table begins with; MISSING stands for one that must be given."""
    if default is not MISSING and default is not REQUIRED:
        return default
    return {"choice": (*spec.choices, "")[0], "color": "#808080", "text": ""}.get(spec.kind)


def _group_class(name: str, kind: type, defaults: dict[str, Any]) -> type[bpy.types.PropertyGroup]:
    """Return the property group of one section of the recipe, or of one table in a list."""
    annotations: dict[str, Any] = {}
    for key, spec in specs(kind).items():
        if can_be_unset(spec):
            about = f"Set it by hand: {spec.help}"
            annotations[_UNSET + key] = bpy.props.BoolProperty(
                name=f"Set {label(key, spec.unit)}", description=about, update=touched
            )
        annotations |= _properties_of(spec, key, defaults[key])
    body = {"__annotations__": annotations, "__doc__": kind.__doc__.splitlines()[0]}
    return type(_PREFIX + name, (bpy.types.PropertyGroup,), body)


def section_class(name: str, section: Any) -> type[bpy.types.PropertyGroup]:
    """Return the property group of one section of the recipe."""
    keys = specs(type(section))
    return _group_class(name, type(section), {key: getattr(section, key) for key in keys})


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
    if spec.kind == _TABLES:
        rows = getattr(group, key)
        rows.clear()
        for table in value:
            row = rows.add()
            for name, own in specs(spec.row).items():
                _assign(row, name, own, getattr(table, name))
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


def to_recipe(state: Any) -> Recipe:
    """Return the recipe that the properties of a scene say.

    Raises
    ------
    RecipeError
        If the properties together make no valid recipe.
    """
    values: dict[str, Any] = {"audience": state.audience, "marks": _value(state, "marks", MARKS)}
    for name, section in Recipe().sections():
        group = getattr(state, name)
        values[name] = {key: _value(group, key, spec) for key, spec in specs(type(section)).items()}
    return Recipe.from_mapping(values)


def from_recipe(state: Any, recipe: Recipe) -> None:
    """Set the properties of a scene to a recipe."""
    state.audience = recipe.audience
    _assign(state, "marks", MARKS, recipe.marks)
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
