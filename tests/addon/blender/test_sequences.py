"""Whatever is done in whatever order, hand work is never less than before; random sequences from seeds.

A few run with the other tests; `python addon/check.py -m "blender and deep" -k sequences` runs 300 more.
"""

from __future__ import annotations

import importlib
import random
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

_STEPS = 12
_QUICK, _MANY = 6, 300
_STROKE_MM, _STROKE_UP_MM, _STROKE_POINTS = 1.5, 0.2, 30
_LESS_MM = 0.06
"""By which hand relief may be less than the stroke: the most that reading and applying may miss."""


def picture(path: Path, turned: bool) -> Path:
    """A kite of three colors on nothing; turned, another picture of the same colors and one more."""
    from PIL import Image, ImageDraw

    image = Image.new("RGBA", (160, 200), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.polygon([(80, 8), (150, 80), (80, 190), (10, 80)], fill=(27, 42, 73))
    draw.polygon([(80, 40), (118, 80), (80, 140), (42, 80)], fill=(242, 193, 78))
    draw.ellipse((64, 64, 96, 96), fill=(190, 40, 50))
    if turned:
        draw.rectangle((70, 150, 90, 165), fill=(60, 140, 90))
        image = image.transpose(Image.Transpose.FLIP_LEFT_RIGHT).rotate(180)
    image.save(path)
    return path


def shape_of(item: Any) -> bytes:
    """By what the places of a mesh are known again."""
    found = np.empty(3 * len(item.data.vertices), np.float32)
    item.data.attributes["position"].data.foreach_get("vector", found)
    return found.tobytes()


Work = tuple[str, float, float, float]
"""The name of a piece, a place in widths of its artwork, and how high its hand relief is there at least."""


class Desk:
    """An artist at work: what is done, and which shapes made by hand must still be there.

    A shape that was sculpted on a skin may be there as hand relief instead.
    """

    def __init__(self, chance: random.Random, folder: Path, installed: str) -> None:
        self.chance = chance
        modules = (importlib.import_module(f"{installed}.{name}") for name in ("run", "sculpting", "pieces"))
        self.run, self.sculpting, self.pieces = modules
        self.pictures = [picture(folder / f"kite-{turned}.png", turned) for turned in (False, True)]
        self.folder, self.files = folder, 0
        self.hand: set[bytes] = set()
        self.soft: dict[bytes, frozenset[Work]] = {}  # what of a shape hand relief must hold
        self.taken: frozenset[Work] = frozenset()
        self.past: list[tuple[set[bytes], frozenset[Work]]] = []
        self.now = 0
        self.dents = 0
        self.log: list[str] = []

    def begin(self) -> None:
        bpy.ops.reliefsmith.load_picture(filepath=str(self.pictures[0]))
        bpy.ops.reliefsmith.make()
        self.remember(anew=True)

    def step(self) -> None:
        """Do one thing, let what waits be made, and look whether everything is there."""
        kinds = [name for name in dir(self) if name.startswith("do_")]
        name = self.chance.choice(kinds)
        self.log.append(name)
        done = getattr(self, name)()
        self.run.pending.flush()
        if done == "travelled":
            self.hand, self.taken = set(self.past[self.now][0]), self.past[self.now][1]
        gone = self.hand - {shape_of(item) for item in self.meshes()}
        lost = [shape for shape in gone if shape not in self.soft]
        assert not lost, f"lost {len(lost)} of {len(self.hand)} after {self.log}"
        self.hand -= gone
        self.taken = self.taken.union(*(self.soft[shape] for shape in gone))
        for work in self.taken:
            assert self.height(*work[:3]) > work[3] - _LESS_MM, f"less than {work} after {self.log}"
        if done != "travelled":
            self.remember(anew=done == "loaded")

    def remember(self, *, anew: bool) -> None:
        """Make a step of undo; after a file was loaded there is nothing before it."""
        bpy.ops.ed.undo_push(message="step")
        self.past = [*([] if anew else self.past[: self.now + 1]), (set(self.hand), self.taken)]
        self.now = len(self.past) - 1

    @property
    def state(self) -> Any:
        return bpy.context.scene.reliefsmith

    def meshes(self) -> list[Any]:
        return [item for item in bpy.context.scene.objects if item.type == "MESH"]

    def any_mesh(self) -> Any:
        return self.chance.choice(sorted(self.meshes(), key=lambda item: item.name))

    def height(self, piece: str, x: float, y: float) -> float:
        """The hand relief of a piece at a place in widths of its artwork; far below all where it has none."""
        field = self.sculpting.stored(self.pieces.named(piece))
        return -9.0 if field is None else float(field.at(np.array([[x, y]]), 1.0)[0])

    def do_sculpt(self) -> None:
        item, skinned = self.any_mesh(), self.skinned()
        if item in skinned:
            self.stroke(item, skinned[item])
            return
        before = self.soft.get(self.replaced(item))
        self.dents += 1
        up_mm = 0.1 + 0.013 * self.dents
        top = max(vertex.co.z for vertex in item.data.vertices)
        raised = {vertex.index for vertex in item.data.vertices if vertex.co.z == top}
        for index in raised:
            item.data.vertices[index].co.z += up_mm
        self.hand.add(shape_of(item))
        piece = next((one for one in self.jobs() if item in self.parts(one)), None)
        whole = [face for face in item.data.polygons if raised.issuperset(face.vertices)]
        whole = [face for face in whole if not self.covered(piece, item, face.center)]
        if piece is not None and whole:  # a skin that is asked for later takes it over
            x, y, _ = max(whole, key=lambda face: face.area).center
            self.soft[shape_of(item)] = (before or frozenset()) | self.work(piece, x, y, up_mm)

    def covered(self, piece: Any, item: Any, place: Any) -> bool:
        """Whether another part of a piece lies over a place, where nothing is seen of what is done below."""
        bpy.context.view_layer.update()
        above, down = (place.x, place.y, 1e3), (0.0, 0.0, -1.0)
        others = [one for one in (self.parts(piece) if piece is not None else ()) if one != item]
        hits = (one.ray_cast(above, down) for one in others)
        return any(hit and at.z > place.z for hit, at, *_ in hits)

    def do_sculpt_more(self) -> None:
        self.do_sculpt()

    def do_prepare(self) -> None:
        if not (self.state.cut or self.state.as_printed):
            bpy.ops.reliefsmith.prepare_sculpting(step_mm=0.3)

    def do_take_over(self) -> None:
        piece = self.pieces.current(bpy.context.scene)
        if self.sculpting.waiting(piece):
            bpy.ops.reliefsmith.take_over()

    def skinned(self) -> dict[Any, Any]:
        """The parts on whose skin an artist may work, with their pieces."""
        return {
            item: piece
            for piece in self.jobs()
            for item in self.parts(piece)
            if ".sculpt_mask" in item.data.attributes
        }

    def jobs(self) -> list[Any]:
        return self.pieces.all_of(bpy.context.scene)

    def parts(self, piece: Any) -> list[Any]:
        return list((self.pieces.find(piece, "generated") or piece).objects)

    def work(self, piece: Any, x: float, y: float, up_mm: float) -> frozenset[Work]:
        """What hand relief must hold of something raised at a place in mm."""
        width = self.width(piece)
        least = max(self.height(piece.name, x / width, y / width), 0.0) + up_mm
        return frozenset({(piece.name, x / width, y / width, least)})

    def replaced(self, item: Any) -> bytes:
        """Forget the shape of a mesh that gets another one, unless others have it too."""
        shape = shape_of(item)
        if [other for other in self.meshes() if shape_of(other) == shape] == [item]:
            self.hand.discard(shape)
        return shape

    def stroke(self, item: Any, piece: Any) -> None:
        """Raise what no mask holds round a place, as a brush does."""
        held, mesh = np.empty(len(item.data.vertices), np.float32), item.data
        mesh.attributes[".sculpt_mask"].data.foreach_get("value", held)
        places = np.empty(3 * len(held), np.float32)
        mesh.attributes["position"].data.foreach_get("vector", places)
        places, free = places.reshape(-1, 3), np.flatnonzero(held == 0)
        if len(free) == 0:
            return
        before = self.soft.get(self.replaced(item), frozenset())
        x, y, _ = places[self.chance.choice(free.tolist())].tolist()
        near = free[np.hypot(*(places[free, :2] - (x, y)).T) < _STROKE_MM]
        places[near, 2] += _STROKE_UP_MM
        mesh.attributes["position"].data.foreach_set("vector", places.ravel())
        mesh.update()
        self.hand.add(shape_of(item))
        if len(near) > _STROKE_POINTS:  # else it is too small to be told from rounding
            before |= self.work(piece, x, y, _STROKE_UP_MM)
        self.soft[shape_of(item)] = before

    def width(self, piece: Any) -> float:
        """The artwork's width in mm: both pictures are 141 x 183 px within their empty rim."""
        return float(piece.reliefsmith.size.longest_mm) * 141 / 183

    def do_height(self) -> None:
        self.state.heights.base_mm = self.chance.choice((1.6, 2.0, 2.4, 3.6))

    def do_border(self) -> None:
        self.state.base.border_mm = self.chance.choice((1.0, 2.0, 3.0))

    def do_count(self) -> None:
        self.state.colors.count = self.chance.choice((0, 2, 3))

    def do_style(self) -> None:
        self.state.heights.style = self.chance.choice(("raised", "flush", "stepped"))

    def do_look_inside(self) -> None:
        self.state.cut = not self.state.cut

    def do_other_picture(self) -> None:
        bpy.ops.reliefsmith.load_picture(filepath=str(self.chance.choice(self.pictures)))

    def do_live(self) -> None:
        self.state.live = not self.state.live

    def do_make(self) -> None:
        bpy.ops.reliefsmith.make()

    def do_check(self) -> None:
        bpy.ops.reliefsmith.check()

    def do_another_piece(self) -> None:
        if len([item for item in bpy.data.collections if item.get("reliefsmith_role") == "job"]) < 3:
            bpy.ops.reliefsmith.new_piece()
            bpy.ops.reliefsmith.load_picture(filepath=str(self.pictures[1]))
            bpy.ops.reliefsmith.make()

    def do_go_to(self) -> None:
        bpy.context.view_layer.objects.active = self.any_mesh()

    def do_duplicate(self) -> None:
        item = self.any_mesh()
        copy = item.copy()
        copy.data = item.data.copy()
        item.users_collection[0].objects.link(copy)

    def do_edit_meanwhile(self) -> None:
        """Change a setting while a part is edited."""
        item = self.any_mesh()
        bpy.context.view_layer.update()
        if not item.visible_get():
            return
        bpy.context.view_layer.objects.active = item
        bpy.ops.object.mode_set(mode=self.chance.choice(("EDIT", "SCULPT")))
        self.do_height()
        self.run.pending.flush()
        bpy.ops.object.mode_set(mode="OBJECT")

    def do_own_material(self) -> None:
        item = self.any_mesh()
        item.data.materials.clear()
        item.data.materials.append(bpy.data.materials.new("mine"))

    def do_undo(self) -> str | None:
        if self.now == 0:
            return None
        bpy.ops.ed.undo()
        self.now -= 1
        return "travelled"

    def do_redo(self) -> str | None:
        if self.now == len(self.past) - 1:
            return None
        bpy.ops.ed.redo()
        self.now += 1
        return "travelled"

    def do_save_and_reload(self) -> str:
        bpy.ops.wm.open_mainfile(filepath=self.saved())
        return "loaded"

    def saved(self) -> str:
        """Save under a new name: one that was appended from stays in use."""
        self.files += 1
        file = str(self.folder / f"day-{self.files}.blend")
        bpy.ops.wm.save_as_mainfile(filepath=file)
        return file

    def do_append(self) -> str:
        """Take the pieces into an empty file."""
        file = self.saved()
        roots = [item.name for item in bpy.context.scene.collection.children]
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        with bpy.data.libraries.load(file, link=False) as (_, target):
            target.collections = roots
        for item in target.collections:
            bpy.context.scene.collection.children.link(item)
        return "loaded"


def run_sequence(seed: int, folder: Path, installed: str) -> None:
    desk = Desk(random.Random(seed), folder, installed)
    desk.begin()
    for _ in range(_STEPS):
        desk.step()


@pytest.mark.parametrize("seed", range(_QUICK))
def test_hand_work_is_never_less(scene: Any, installed: str, tmp_path: Path, seed: int) -> None:
    run_sequence(seed, tmp_path, installed)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(_QUICK, _QUICK + _MANY))
def test_hand_work_is_never_less_in_many(scene: Any, installed: str, tmp_path: Path, seed: int) -> None:
    run_sequence(seed, tmp_path, installed)
