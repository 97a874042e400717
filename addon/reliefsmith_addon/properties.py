# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipe as Blender properties, generated from the core's declarations: nothing is declared twice."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import fields
from typing import Any

import bpy

from reliefsmith.recipe import AUDIENCES, MARKS, SCHEMA, Recipe, toml_value
from reliefsmith.settings import Spec, specs

# Blender keeps numbers in single precision: six significant digits come back as they were typed.
_DIGITS = 6
_UNSET = "use_"
_EXACT_KINDS = ("number", "integer", "flag", "text", "choice", "color", "point", "size")


def section_names() -> list[str]:
    """Return the names of the recipe's sections, in the order of the work."""
    return [name for name, _ in Recipe().sections()]


def label(key: str) -> str:
    """Return the words of a key: "border_mm" is "Border"."""
    words = key.removesuffix("_mm").replace("_", " ").strip()
    return words.title() or key


def can_be_unset(spec: Spec) -> bool:
    """Return whether a setting has a state beside its value: not set, or "auto" for a color."""
    return spec.optional or (spec.kind == "color" and bool(spec.choices))


def _tooltip(spec: Spec) -> str:
    text = spec.help[:1].upper() + spec.help[1:]
    return f"{text} ({spec.unit})" if spec.unit else text


def _numbers(spec: Spec, default: Any) -> dict[str, Any]:
    given: dict[str, Any] = {} if default is None else {"default": default}
    for word, bound in (("min", spec.low), ("max", spec.high)):
        if bound is not None:
            given[word] = int(bound) if spec.kind == "integer" else float(bound)
    if default is None and spec.kind == "number":
        given["default"] = max(spec.low or 0.0, min(60.0, spec.high or 60.0))
    if spec.kind != "integer":
        given["precision"] = 2
        given["subtype" if spec.kind == "number" else "unit"] = "DISTANCE" if spec.unit == "mm" else "NONE"
        if given.get("unit") == "DISTANCE":
            given["unit"] = "LENGTH"
    return given


def _property(spec: Spec, key: str, default: Any) -> Any:  # noqa: PLR0911 - one return for each kind
    """Return the Blender property of one setting."""
    about: dict[str, Any] = {"name": label(key), "description": _tooltip(spec), "update": _touched}
    props = bpy.props
    if spec.kind in ("number", "integer"):
        make = props.IntProperty if spec.kind == "integer" else props.FloatProperty
        return make(**about, **_numbers(spec, default))
    if spec.kind in ("point", "size"):
        return props.FloatVectorProperty(**about, size=2, **_numbers(spec, default))
    if spec.kind == "flag":
        return props.BoolProperty(**about, default=default)
    if spec.kind == "choice":
        items = [(choice, label(choice.replace("-", "_")), "") for choice in spec.choices]
        return props.EnumProperty(**about, items=items, default=default)
    if spec.kind == "color":
        return props.FloatVectorProperty(
            **about, size=3, subtype="COLOR_GAMMA", min=0, max=1, default=(0, 0, 0)
        )
    if spec.kind == "text":
        return props.StringProperty(**about, default=default, maxlen=int(spec.high or 0))
    return props.StringProperty(**about, default=_list_text(default))


def _section_class(name: str, section: Any) -> type[bpy.types.PropertyGroup]:
    """Return the property group of one section of the recipe."""
    annotations: dict[str, Any] = {}
    for key, spec in specs(type(section)).items():
        if can_be_unset(spec):
            about = f"Set it by hand: {spec.help}"
            annotations[_UNSET + key] = bpy.props.BoolProperty(
                name=f"Set {label(key)}", description=about, update=_touched
            )
        annotations[key] = _property(spec, key, getattr(section, key))
    title = "RELIEFSMITH_PG_" + name
    return type(
        title, (bpy.types.PropertyGroup,), {"__annotations__": annotations, "__doc__": section.__doc__}
    )


def _list_text(value: Any) -> str:
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_list_text(item) for item in value) + "]"
    return toml_value(value)


def hex_of(rgb: Any) -> str:
    """Return an sRGB color of Blender's, 0 to 1, as the recipe writes it."""
    return "#" + "".join(f"{round(255 * value):02x}" for value in rgb)


def _rounded(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")


def _value(group: Any, key: str, spec: Spec) -> Any:
    """Return the recipe's value of one property."""
    if can_be_unset(spec) and not getattr(group, _UNSET + key):
        return None if spec.optional else "auto"
    value = getattr(group, key)
    if spec.kind == "number":
        return _rounded(value)
    if spec.kind in ("point", "size"):
        return tuple(_rounded(item) for item in value)
    if spec.kind == "color":
        return hex_of(value)
    return value if spec.kind in _EXACT_KINDS else tomllib.loads("value = " + (value or "[]"))["value"]


def _assign(group: Any, key: str, spec: Spec, value: Any) -> None:
    """Set one property to the recipe's value."""
    if can_be_unset(spec):
        is_set = value is not None and value != "auto"
        setattr(group, _UNSET + key, is_set)
        if not is_set:
            return
    if spec.kind == "color":
        value = [int(value[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    elif spec.kind not in _EXACT_KINDS:
        value = _list_text(value)
    setattr(group, key, value)


def to_recipe(state: Any) -> Recipe:
    """Return the recipe that the properties of a scene say.

    Raises
    ------
    RecipeError
        If the properties together make no valid recipe.
    """
    marks = tomllib.loads("value = " + (state.marks or "[]"))["value"]
    values: dict[str, Any] = {"audience": state.audience, "marks": marks}
    for name, section in Recipe().sections():
        group = getattr(state, name)
        values[name] = {key: _value(group, key, spec) for key, spec in specs(type(section)).items()}
    return Recipe.from_mapping(values)


def from_recipe(state: Any, recipe: Recipe) -> None:
    """Set the properties of a scene to a recipe."""
    state.audience = recipe.audience
    state.marks = _list_text(recipe.marks)
    state.schema = SCHEMA
    for name, section in recipe.sections():
        for key, spec in specs(type(section)).items():
            _assign(getattr(state, name), key, spec, getattr(section, key))


def _touched(group: Any, context: bpy.types.Context) -> None:
    """Pass a change on to whoever listens; see `listen`."""
    for listener in _listeners:
        listener(group, context)


def listen(listener: Callable[[Any, bpy.types.Context], None]) -> None:
    """Have `listener` called with the group after every change of a setting, until `unregister`."""
    _listeners.append(listener)


class RELIEFSMITH_PG_part(bpy.types.PropertyGroup):
    """One part of the last run; `name` is the part's"""

    role: bpy.props.StringProperty()
    color: bpy.props.FloatVectorProperty(name="Color", size=3, subtype="COLOR_GAMMA", min=0, max=1)
    mass_g: bpy.props.FloatProperty()


class RELIEFSMITH_PG_finding(bpy.types.PropertyGroup):
    """One finding of the last run"""

    code: bpy.props.StringProperty()
    severity: bpy.props.StringProperty()
    message: bpy.props.StringProperty()
    has_place: bpy.props.BoolProperty()
    place: bpy.props.FloatVectorProperty(size=3)


def _state_class(groups: dict[str, type]) -> type[bpy.types.PropertyGroup]:
    """Return the property group on the scene: the picture, the recipe and what the last run found."""
    audiences = [(name, name.title(), "") for name in AUDIENCES]
    annotations: dict[str, Any] = {
        "schema": bpy.props.IntProperty(default=SCHEMA, options={"HIDDEN"}),
        "picture": bpy.props.StringProperty(
            name="Picture", description="The picture the relief is made from", subtype="FILE_PATH"
        ),
        "audience": bpy.props.EnumProperty(
            name="For",
            description="Who uses the piece",
            items=audiences,
            default=Recipe().audience,
            update=_touched,
        ),
        "marks": bpy.props.StringProperty(
            name="Marks", description=_tooltip(MARKS), default="[]", update=_touched
        ),
        "findings": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_finding),
        "finding": bpy.props.IntProperty(),
        "parts": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_part),
        "estimate": bpy.props.StringProperty(),
        "trouble": bpy.props.StringProperty(),
        "live": bpy.props.BoolProperty(
            name="Live", description="Make again what depends on a changed setting", default=True
        ),
    }
    annotations |= {name: bpy.props.PointerProperty(type=group) for name, group in groups.items()}
    body = {"__annotations__": annotations, "__doc__": "State of the relief in this scene"}
    return type("RELIEFSMITH_PG_state", (bpy.types.PropertyGroup,), body)


_classes: list[type] = []
_listeners: list[Callable[[Any, bpy.types.Context], None]] = []


def register() -> None:
    """Register the groups and put the state on the scene."""
    assert {item.name for item in fields(Recipe)} == {*section_names(), "audience", "marks"}
    groups = {name: _section_class(name, section) for name, section in Recipe().sections()}
    _classes.extend([RELIEFSMITH_PG_part, RELIEFSMITH_PG_finding, *groups.values()])
    _classes.append(_state_class(groups))
    for group in _classes:
        bpy.utils.register_class(group)
    bpy.types.Scene.reliefsmith = bpy.props.PointerProperty(type=_classes[-1])


def unregister() -> None:
    """Take the state and the groups away again."""
    _listeners.clear()
    del bpy.types.Scene.reliefsmith
    while _classes:
        bpy.utils.unregister_class(_classes.pop())
