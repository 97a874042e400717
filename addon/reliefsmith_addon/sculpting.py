# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand relief in Blender: a skin to sculpt on, what was sculpted taken over as heights by place, and kept.

The field lies on the generated collection, as the bytes of the same file that the set holds, so it goes with
the collection into other files, and undo and redo bring it back with everything else.
"""

from __future__ import annotations

import base64
import functools
import hashlib
import zlib
from collections.abc import Callable, Sequence
from typing import Any

import bpy
import numpy as np

from reliefsmith.errors import RecipeError
from reliefsmith.jobs.handread import read_relief_steps
from reliefsmith.model import HandRelief, Part
from reliefsmith.solid.skin import free_points, points_needed, skin_steps, skinned

from . import bridge, hand, older, pieces, properties, session

_FIELD, _FRAME, _SHAPE = "reliefsmith_hand", "reliefsmith_hand_frame", "reliefsmith_hand_shape"
_SKIN, _DONE = "reliefsmith_skin_mm", "reliefsmith_skin"
_SAID = "reliefsmith_hand_said"
_CUT = "reliefsmith_cut"
_PICTURE = "reliefsmith_picture"  # which one the parts that stand now are of
_LOOK_S = 0.4
_PACKED = "eA"  # how packed heights begin in base 64
_MASK, _FACE_SET = ".sculpt_mask", ".sculpt_face_set"
_HELD = 0.9995  # share of the work that the field has, from which on nothing has to be set aside
_NONE = HandRelief(np.zeros((2, 2), np.float32), (-0.5, 0.5), 1.0)


def wanted(piece: bpy.types.Collection | None) -> HandRelief | None:
    """Return what the meshes are made with: with a skin always some relief, if only of zeros."""
    return stored(piece) or (_NONE if skin_mm(piece) else None)


def stored(piece: bpy.types.Collection | None) -> HandRelief | None:
    """Return the hand relief of a piece, or None."""
    place = pieces.find(piece, pieces.GENERATED)
    if place is None or _FIELD not in place:
        return None
    return _unpacked(place[_FIELD], tuple(place[_SHAPE]), tuple(place[_FRAME]))


@functools.lru_cache(maxsize=4)
def _unpacked(text: str, shape: tuple[int, int], frame: tuple[float, float, float]) -> HandRelief:
    plain = base64.b64decode(text) if text.startswith(_PACKED) else base64.b85decode(text)  # older files
    values = np.frombuffer(zlib.decompress(plain), "<f4").reshape(shape)
    return HandRelief(values.astype(np.float32), frame[:2], frame[2])


def store(piece: bpy.types.Collection, relief: HandRelief | None) -> None:
    """Keep hand relief with a piece; None takes it away."""
    place = pieces.collection(piece, pieces.GENERATED)
    hand.refuse_foreign(place)
    if relief is None:
        for key in (_FIELD, _FRAME, _SHAPE):
            if key in place:
                del place[key]
        return
    packed = zlib.compress(relief.values.astype("<f4").tobytes(), 1)
    place[_FIELD] = base64.b64encode(packed).decode()  # Blender cuts bytes at a zero
    place[_SHAPE] = list(relief.values.shape)
    place[_FRAME] = [*relief.origin, relief.step]


def skin_mm(piece: bpy.types.Collection | None) -> float:
    """Return how far apart the points of the skin lie, or 0 where the parts have none."""
    place = pieces.find(piece, pieces.GENERATED)
    return float(place.get(_SKIN, 0.0)) if place is not None else 0.0


def stamp(piece: bpy.types.Collection | None) -> str:
    """Return a stamp of hand relief and skin, by which a run knows whether meshes are up to date."""
    place = pieces.find(piece, pieces.GENERATED)
    if place is None:
        return ""
    text = place.get(_FIELD, "") + repr((list(place.get(_FRAME, ())), skin_mm(piece)))
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def dressed_steps(piece: bpy.types.Collection | None, stack: Any, parts: Any) -> Any:
    """Return the parts of a stack with the skin that their piece asks for, in steps."""
    step_mm = skin_mm(piece)
    return (yield from skin_steps(stack, step_mm)) if step_mm else parts


def masked(piece: bpy.types.Collection, stack: Any, parts: Any) -> None:
    """Hold walls and rims of the skin by a mask, and give each color its face set."""
    objects = bridge.part_objects(piece)
    for number, part in enumerate(parts, start=1):
        item = objects.get(part.name)
        if item is None or item.data.get(_DONE):
            continue
        mesh = item.data
        free = free_points(_as_part(part, *bridge.read(mesh)), stack)
        bridge.lay(mesh, _MASK, "FLOAT", "POINT", np.where(free, 0.0, 1.0).astype(np.float32))
        bridge.lay(mesh, _FACE_SET, "INT", "FACE", np.full(len(mesh.polygons), number, np.int32))
        mesh[_DONE] = True


def bare(piece: bpy.types.Collection, parts: Sequence[Part]) -> None:
    """Take mask and face sets of the skin from meshes that are as made, and become parts on other ground."""
    becoming = {part.name: part for part in parts}
    for name, item in bridge.part_objects(piece).items():
        if not item.data.get(_DONE):
            continue
        stays = name in becoming and bridge.is_on_its_ground(item.data, becoming[name])
        if not stays and not bridge.changed(item):
            for column in (_MASK, _FACE_SET):
                if column in item.data.attributes:
                    item.data.attributes.remove(item.data.attributes[column])
            del item.data[_DONE]


def prepare_steps(piece: bpy.types.Collection, step_mm: float) -> Any:
    """Ask for a skin whose points lie so far apart; returns about how many points it has.

    Raises
    ------
    ReliefsmithError
        If there is no relief, or the piece cannot have a skin.
    """
    state = piece.reliefsmith
    if not bridge.part_objects(piece):
        raise RecipeError("there is no relief to sculpt; make it first")
    place = pieces.find(piece, pieces.GENERATED)
    hand.refuse_foreign(place)
    if state.as_printed or state.cut:
        raise RecipeError("a skin is of the whole piece with its front up; turn Cut and As Printed off")
    recipe = properties.to_recipe(state)
    if stored(piece) is None and recipe.heights.hand:  # from here on the piece's own field is sculpted
        given = yield from _built_steps(state, None, recipe)
        store(piece, given["handed"])
    values = yield from _built_steps(state, stored(piece) or _NONE, recipe)
    skinned(values["stacked"], round(step_mm, 3))
    ask(piece, step_mm)
    return points_needed(values["stacked"], step_mm)


def ask(piece: bpy.types.Collection, step_mm: float) -> None:
    """Note how far apart the points of the skin lie; 0 for none."""
    pieces.find(piece, pieces.GENERATED)[_SKIN] = round(step_mm, 3)


def shows(piece: bpy.types.Collection, *, cut: bool) -> None:
    """Note of which picture the parts that stand now are, and whether they are cut off to look inside.

    The settings may be ahead of them.
    """
    place = pieces.find(piece, pieces.GENERATED)
    place[_CUT], place[_PICTURE] = cut, piece.reliefsmith.digest


def _is_cut(piece: bpy.types.Collection) -> bool:
    return bool(pieces.find(piece, pieces.GENERATED).get(_CUT, piece.reliefsmith.cut))


def _is_of_another(piece: bpy.types.Collection) -> bool:
    """Return whether the parts that stand now are of another picture than the one that is loaded."""
    now = piece.reliefsmith.digest
    return bool(pieces.find(piece, pieces.GENERATED).get(_PICTURE, now) != now)


def waiting(piece: bpy.types.Collection) -> list[str]:
    """Return the parts whose skin was sculpted and can be taken over; what is cut off has no skin."""
    if not skin_mm(piece) or _is_cut(piece) or _is_of_another(piece):
        return []
    return [name for name, item in bridge.part_objects(piece).items() if bridge.changed(item)]


def _readable(piece: bpy.types.Collection) -> dict[str, bpy.types.Object]:
    """Return the parts that hand relief can be read from.

    Raises
    ------
    RecipeError
        If there are none, they are shown cut or as printed, of another picture, or of another file.
    """
    objects, state = bridge.part_objects(piece), piece.reliefsmith
    if not objects:
        raise RecipeError("there is no relief to take hand work over from; make it first")
    if _is_cut(piece) or (state.as_printed and state.heights.face == "down"):
        raise RecipeError("hand relief is read from the whole piece; turn Cut and As Printed off")
    if _is_of_another(piece):
        raise RecipeError("these parts are of the picture before; Make Relief sets your work aside in Finish")
    for item in objects.values():
        hand.refuse_foreign(item)
    return objects


def take_over_steps(piece: bpy.types.Collection) -> Any:
    """Read the sculpted parts as hand relief and keep it; returns in one line what was kept.

    A part whose work the field holds may be made anew; one with more than that stays changed, so that the
    next run sets it aside in `Finish`. Nothing is changed before the last step.

    Raises
    ------
    ReliefsmithError
        If there is no relief, it is shown cut or as printed, or the picture or the settings cannot be used.
    """
    state, name = piece.reliefsmith, piece.name
    objects = _readable(piece)
    recipe = older.made_recipe(state) if state.made_recipe else properties.to_recipe(state)
    meshes = {key: bridge.read(item.data) for key, item in objects.items() if bridge.changed(item)}
    values = yield from _built_steps(state, wanted(piece), recipe)
    made = yield from dressed_steps(piece, values["stacked"], values["parts"])
    pairs = [
        (part, _as_part(part, *meshes[part.name]) if part.name in meshes else part)
        for part in made
        if part.name in objects
    ]
    width = values["marked"].size_mm[0]
    earlier = stored(piece) or (values["handed"] if recipe.heights.hand else None)
    plain = yield from _built_steps(state, _NONE, recipe)
    reading = yield from read_relief_steps(pairs, width, earlier=earlier, plain=plain["parts"])
    held = [
        now
        for part, now in pairs
        if reading.kept_of.get(part.name, 0.0) >= _HELD and not hand.has_shapes(objects[part.name])
    ]
    piece = pieces.named(name)
    if piece is None:
        raise RecipeError("the piece was deleted while its work was read; undo, and take it over again")
    store(piece, reading.relief)
    for now in held:
        item = bridge.part_objects(piece).get(now.name)
        if item is not None:
            item.data[hand.STAMP] = bridge.stamp_of(now)
    pieces.find(piece, pieces.GENERATED)[_SAID] = words = _words(reading)
    return words


def _built_steps(state: Any, relief: HandRelief | None, recipe: Any) -> Any:
    """Return what the stages came to up to the solids, by name."""
    return (yield from session.job(state, relief).steps(session.with_paths(recipe), "parts"))


def said(piece: bpy.types.Collection | None) -> str:
    """Return what was said of the hand work that was taken over last, or ""."""
    place = pieces.find(piece, pieces.GENERATED)
    return str(place.get(_SAID, "")) if place is not None else ""


def forget(piece: bpy.types.Collection) -> None:
    """Take hand relief and skin away from a piece."""
    place = pieces.find(piece, pieces.GENERATED)
    if place is None:
        raise RecipeError("there is no relief to take hand work from; make it first")
    store(piece, None)
    for key in (_SKIN, _SAID):
        if key in place:
            del place[key]


class Watch:
    """Sees parts leave Sculpt Mode, and has what was sculpted on a skin taken over then.

    Only names are kept between calls; timers do not run in background.
    """

    def __init__(self, later: Callable[[bpy.types.Collection], None]) -> None:
        self.later = later
        self.sculpted: set[str] = set()
        self.timer = self.tick

    def tick(self) -> float:
        """Look once; the time until the next look."""
        for piece in (piece for scene in bpy.data.scenes for piece in pieces.all_of(scene)):
            if piece.library is not None or not skin_mm(piece):
                continue
            modes = {item.mode for item in bridge.part_objects(piece).values()}
            if "SCULPT" in modes:
                self.sculpted.add(piece.name)
            elif modes == {"OBJECT"} and piece.name in self.sculpted:
                self.sculpted.discard(piece.name)
                if waiting(piece):
                    self.later(piece)
        return _LOOK_S

    def begin(self) -> None:
        """Look from now on, in every file."""
        bpy.app.timers.register(self.timer, first_interval=_LOOK_S, persistent=True)

    def end(self) -> None:
        """Look no more."""
        if bpy.app.timers.is_registered(self.timer):
            bpy.app.timers.unregister(self.timer)


def _words(reading: Any) -> str:
    lost = 1.0 - reading.kept
    if lost <= 1.0 - _HELD:
        return "hand relief: kept all of it"
    names = {"undercut": "hangs over", "beside": "lies beside the part", "gone": "goes through it"}
    kinds = ", ".join(dict.fromkeys(names[item.kind] for item in reading.unheld))
    return f"hand relief: kept {reading.kept:.0%}, {lost:.0%} {kinds} and stays as an object in Finish"


def _as_part(part: Part, vertices: Any, triangles: Any) -> Part:
    return Part(part.name, part.role, part.color, vertices.astype(np.float64), triangles)
