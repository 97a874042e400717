# SPDX-License-Identifier: GPL-3.0-or-later
"""What a piece keeps: the picture, the recipe, what the last run found, and how it is looked at."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import bpy

from reliefsmith.recipe.recipe import AUDIENCES, LETTERING, MARKS, SCHEMA, Recipe
from reliefsmith.recipe.tables import MARK_KINDS

from . import looks, pictures, pieces, properties
from .labels import title

_FIRST_MM = {"thicken": 0.9, "border": 3.0, "link": 3.0, "no-link": 4.0}  # what a mark begins with
_LEAST_CUT_MM, _MOST_CUT_MM = 0.05, 500.0


_PLACES = [
    (pictures.INSIDE, "Picture in This File", "A copy of the picture is packed into the file"),
    (pictures.BESIDE, "Picture Beside This File", "Only its path is kept, from the folder of the file"),
]


def _picture_changed(state: Any, context: bpy.types.Context) -> None:
    before = state.digest
    pictures.keep(state)
    if state.digest != before and not state.live:
        forget(state)
    properties.touched(state, context)


def forget(state: Any) -> None:
    """Drop what the last run found: it is of another picture."""
    for rows in (state.parts, state.findings, state.decisions, state.texts):
        rows.clear()
    for key in ("estimate", "size_text", "checked", "has_hole"):
        state.property_unset(key)


def _redraw(_state: Any, context: bpy.types.Context) -> None:
    for area in context.screen.areas if context.screen else ():
        area.tag_redraw()


def _color() -> Any:
    return bpy.props.FloatVectorProperty(name="Color", size=3, subtype="COLOR_GAMMA", min=0, max=1)


def _chip(shown: str, what: str) -> Any:
    """Return a property that shows another one: read-only ones are drawn pale, this takes no other value."""
    return bpy.props.FloatVectorProperty(
        name="Color",
        description=what,
        size=3,
        subtype="COLOR_GAMMA",
        min=0,
        max=1,
        get=lambda group: getattr(group, shown),
        set=lambda _group, _value: None,
    )


class RELIEFSMITH_PG_part(bpy.types.PropertyGroup):
    """One part of the last run; `name` is the part's"""

    role: bpy.props.StringProperty()
    color: _color()  # of the picture; by it the settings know the part
    chip: _chip("color", "Color of the part")
    share: bpy.props.FloatProperty()
    mass_g: bpy.props.FloatProperty()
    filament: bpy.props.StringProperty()
    __annotations__ |= looks.of_part()


class RELIEFSMITH_PG_other(bpy.types.PropertyGroup):
    """Another value that a decision could have; `name` is the value as the recipe writes it"""

    is_color: bpy.props.BoolProperty()
    color: _color()
    chip: _chip("color", "Color that the base could have")


class RELIEFSMITH_PG_decision(bpy.types.PropertyGroup):
    """One decision of the last run; `name` is what was decided"""

    setting: bpy.props.StringProperty()
    taken: bpy.props.StringProperty()
    why: bpy.props.StringProperty()
    others: bpy.props.CollectionProperty(type=RELIEFSMITH_PG_other)


class RELIEFSMITH_PG_finding(bpy.types.PropertyGroup):
    """One finding of the last run"""

    code: bpy.props.StringProperty()
    severity: bpy.props.StringProperty()
    message: bpy.props.StringProperty()
    has_place: bpy.props.BoolProperty()
    place: bpy.props.FloatVectorProperty(size=3)


class RELIEFSMITH_PG_text(bpy.types.PropertyGroup):
    """Where the last run set a text, in mm of the artwork's frame, and how large"""

    at: bpy.props.FloatVectorProperty(size=2)
    middle: bpy.props.FloatVectorProperty(size=2)  # of its letters; on an arc not where it is set
    size_mm: bpy.props.FloatProperty()
    is_back: bpy.props.BoolProperty()
    reach_mm: bpy.props.FloatProperty()


def _mark_properties() -> dict[str, Any]:
    """Return what the next mark will be: its kind, and a color or a width for those that take one."""
    kinds = [(name, title(name), kind.does.capitalize()) for name, kind in MARK_KINDS.items() if kind.point]
    made: dict[str, Any] = {
        "mark_kind": bpy.props.EnumProperty(name="Kind", description="What a mark does", items=kinds),
        "mark_color": bpy.props.FloatVectorProperty(
            name="Color",
            description="Color that the marked area takes",
            size=3,
            subtype="COLOR_GAMMA",
            min=0,
            max=1,
        ),
        "mark_has_value": bpy.props.BoolProperty(
            name="Set the value by hand", description="Say by hand which color or width the mark has"
        ),
    }
    for name, kind in MARK_KINDS.items():
        if kind.value == "mm":
            made[mark_width(name)] = bpy.props.FloatProperty(
                name="Width",
                description=kind.says.capitalize(),
                min=kind.low,
                max=kind.high,
                default=_FIRST_MM[name],
                precision=2,
                subtype="DISTANCE",
            )
    return made


def mark_width(kind: str) -> str:
    """Return the name of the property that holds the width of the next mark of a kind."""
    return f"mark_{kind.replace('-', '_')}_mm"


def _state_class(groups: dict[str, type]) -> type[bpy.types.PropertyGroup]:
    """Return the property group of a piece: the picture, the recipe and what the last run found."""
    audiences = [(name, name.title(), "") for name in AUDIENCES]
    annotations: dict[str, Any] = {
        "schema": bpy.props.IntProperty(default=SCHEMA, options={"HIDDEN"}),
        "picture": bpy.props.StringProperty(
            name="Picture",
            description="The picture the relief is made from",
            subtype="FILE_PATH",
            options={"PATH_SUPPORTS_BLEND_RELATIVE"},
            update=_picture_changed,
        ),
        "picture_place": bpy.props.EnumProperty(
            name="Picture Kept",
            description="Where the picture is kept when this file is saved",
            items=_PLACES,
            update=_picture_changed,
        ),
        "digest": bpy.props.StringProperty(options={"HIDDEN"}),
        "made_recipe": bpy.props.StringProperty(options={"HIDDEN"}),
        "turn": bpy.props.IntProperty(options={"HIDDEN"}),
        "image": bpy.props.PointerProperty(type=bpy.types.Image, options={"HIDDEN"}),
        "audience": bpy.props.EnumProperty(
            name="For",
            description="Who uses the piece",
            items=audiences,
            default=Recipe().audience,
            update=properties.touched,
        ),
        "marks": properties.property_of(MARKS, "", "marks", ()),
        "lettering": properties.property_of(LETTERING, "", "lettering", ()),
        **_mark_properties(),
        "cut": bpy.props.BoolProperty(
            name="Cut",
            description="Show the piece cut off at a height, to look inside",
            update=properties.touched,
        ),
        "cut_mm": bpy.props.FloatProperty(
            name="Cut At",
            description="Height at which the piece is cut off in the view; files hold the whole piece (mm)",
            default=1.0,
            min=_LEAST_CUT_MM,
            max=_MOST_CUT_MM,
            precision=2,
            subtype="DISTANCE",
            update=properties.touched,
        ),
        "as_printed": bpy.props.BoolProperty(
            name="As Printed",
            description="Show the parts as they lie on the bed, not the finished piece with its front up",
            update=properties.touched,
        ),
        **looks.of_piece(),
        "rendered": bpy.props.StringProperty(),
        "turned": bpy.props.BoolProperty(),
        "made_from": bpy.props.StringProperty(options={"HIDDEN"}),
        "checked": bpy.props.StringProperty(),
        "size_text": bpy.props.StringProperty(),
        "findings": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_finding),
        "texts": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_text),
        "decisions": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_decision),
        "finding": bpy.props.IntProperty(default=-1),
        "show_findings": bpy.props.BoolProperty(
            name="Show in the View",
            description="Draw a numbered dot in the 3D view at the place of each finding",
            default=True,
            update=_redraw,
        ),
        "parts": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_part),
        "estimate": bpy.props.StringProperty(),
        "has_hole": bpy.props.BoolProperty(options={"HIDDEN"}),
        "hole": bpy.props.FloatVectorProperty(size=2, options={"HIDDEN"}),
        "trouble": bpy.props.StringProperty(),
        "live": bpy.props.BoolProperty(
            name="Live", description="Make again what depends on a changed setting", default=True
        ),
    }
    assert not annotations.keys() & groups.keys()  # a section of the recipe would take its name
    annotations |= {name: bpy.props.PointerProperty(type=group) for name, group in groups.items()}
    body = {"__annotations__": annotations, "__doc__": "State of one piece"}
    return type("RELIEFSMITH_PG_state", (bpy.types.PropertyGroup,), body)


def register() -> None:
    """Register the groups, put a state on collections, and on scenes what is set before there is a piece."""
    properties.add(looks.RELIEFSMITH_PG_finish)
    properties.add(RELIEFSMITH_PG_part)
    properties.add(RELIEFSMITH_PG_finding)
    properties.add(RELIEFSMITH_PG_text)
    properties.add(RELIEFSMITH_PG_other)
    properties.add(RELIEFSMITH_PG_decision)
    sections = Recipe().sections()
    loose = {"audience", "marks", "lettering"}
    assert {item.name for item in fields(Recipe)} == {*(name for name, _ in sections), *loose}
    groups = {name: properties.add(properties.section_class(name, section)) for name, section in sections}
    kind = properties.add(_state_class(groups))
    bpy.types.Collection.reliefsmith = bpy.props.PointerProperty(type=kind)
    bpy.types.Scene.reliefsmith_draft = bpy.props.PointerProperty(type=kind)
    bpy.types.Scene.reliefsmith = property(pieces.state_of)


def unregister() -> None:
    """Take the state and the groups away again."""
    del bpy.types.Scene.reliefsmith, bpy.types.Scene.reliefsmith_draft, bpy.types.Collection.reliefsmith
    properties.clear()
