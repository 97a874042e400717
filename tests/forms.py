"""What every piece of a preset must hold, measured on its meshes; for tests."""

from __future__ import annotations

import shapely

from reliefsmith import Relief
from reliefsmith.mesh import cut
from reliefsmith.polygons import inscribed, polygons_of
from sound import assert_closed, assert_sound

UNCLEAN = {"island-in-air", "overhang", "long-bridge", "motif-over-edge", "not-watertight", "parts-overlap"}
"""What the check of layers may not say of a preset."""

FORMS = {
    "badge-magnet",
    "badge-pin",
    "bag-tag",
    "coaster",
    "door-sign",
    "keyring",
    "luggage-tag",
    "magnet",
    "medal",
    "ornament",
    "plant-tag",
    "plaque",
    "zipper-pull",
}
"""Flat forms that ship."""

HABITS = {"bold", "fine-nozzle", "pocket", "tag"}
"""Presets of how one prints, of no form; what else ships has tests of its own."""


STANDING = {"desk-sign", "layered-picture", "lit-sign", "stamp"}
"""Forms of several parts, some printed apart."""


def assert_form(relief: Relief) -> None:
    """Sound, in one piece, layers clean, nothing that stops the print, and its own caution said."""
    assert_sound(relief)
    for accessory in relief.result.accessories:
        for part in accessory.parts:
            assert_closed(part)
    codes = {item.code for item in relief.findings}
    assert relief.printable, [item.message for item in relief.findings]
    assert not codes & UNCLEAN, [item.message for item in relief.findings if item.code in UNCLEAN]
    assert ("form-caution" in codes) == bool(relief.result.recipe.form.caution)


def section(relief: Relief, z_mm: float) -> shapely.MultiPolygon:
    """Return what is printed at a height, cut from the meshes of all parts."""
    return shapely.union_all([cut(part.vertices, part.triangles, z_mm) for part in relief.parts])


def holes_of(relief: Relief, z_mm: float) -> list[shapely.Polygon]:
    """Return the holes and pockets at a height that lie where the plan has one, in its order."""
    solid = section(relief, z_mm)
    empty = [shapely.Polygon(ring) for piece in polygons_of(solid) for ring in piece.interiors]
    places = [hole.center_mm for hole in relief.plan.holes]
    places += [pocket.polygon.centroid.coords[0] for pocket in relief.plan.pockets if pocket.side == "back"]
    return [next(ring for ring in empty if ring.contains(shapely.Point(at))) for at in places]


def sides(shape: shapely.Geometry) -> tuple[float, float]:
    """Return width and height of a level shape."""
    left, low, right, high = shape.bounds
    return right - left, high - low


def wall(relief: Relief, hole: shapely.Polygon, z_mm: float) -> float:
    """Return the least plastic between a hole and any other edge at a height."""
    rings = [
        ring for piece in polygons_of(section(relief, z_mm)) for ring in (piece.exterior, *piece.interiors)
    ]
    return min(ring.distance(hole.exterior) for ring in rings if not hole.exterior.equals(ring))


def across(hole: shapely.Polygon) -> float:
    """Return the diameter of the largest disc in a hole: what passes it."""
    return 2 * inscribed(hole).radius
