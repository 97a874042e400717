"""Write SVG in millimetres: the plan and the areas, one group for each color.

One user unit is one millimetre; the origin stays that of the plan, so coordinates are those of all other
files with y turned down. Shells and holes run opposite ways, so both fill rules show the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from ..colorimetry.words import to_hex, unique_names
from ..errors import GeometryError
from ..model.areas import GROUND_ROLE, FlatAreas, NumberedArea
from ..model.arrays import Color
from ..model.plan import Plan
from ..polygons.rulers import NUMBERED_RANK, ruler_step, ruler_ticks
from .decimals import exact_mm, filled, mm_text
from .markup import xml_text

__all__ = ["areas_drawing", "areas_svg", "path_data", "plan_svg"]

Layer = tuple[str, Color, str]
"""Name, color, path data."""

_NUMBER_SHARE = (1.4, 1.0)
"""Size of a number by the radius that it has room in: of one digit, of more."""

FRAME_LENGTHS = 50.0
"""Longest side of a drawing by the unit of its rulers: two ticks, the height of a digit."""


def plan_svg(plan: Plan, part_names: Mapping[Color, str] | Sequence[str]) -> bytes:
    """Write the plan after repair: the base, then each motif on it.

    Parameters
    ----------
    plan : Plan
    part_names : mapping of color to name, or sequence of str
        A sequence gives the base's name, then one for each of `plan.motifs`, in that order.

    Raises
    ------
    GeometryError
        If nothing is left to draw.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith import make
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> plan = make(picture).plan
    >>> b'id="red"' in plan_svg(plan, ["base", "red"])
    True
    """
    shapes = [(plan.base_color, plan.base), *((motif.color, motif.polygon) for motif in plan.motifs)]
    names = [part_names[color] for color, _ in shapes] if isinstance(part_names, Mapping) else part_names
    bounds = shapely.total_bounds(np.array([shape for _, shape in shapes], dtype=object))
    layers = [(name, color, path_data(shape)) for name, (color, shape) in zip(names, shapes, strict=True)]
    return _drawing(bounds, [_group(*layer) for layer in layers])


def areas_svg(areas: FlatAreas, names: Sequence[str] | None = None) -> bytes:
    """Write the areas of flat color, one group for each, in the order of `areas.colors`.

    Without names, each color is named by its plain word.

    Raises
    ------
    GeometryError
        If nothing is left to draw.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith.walk.pipeline import find_areas
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> b'width="68mm"' in areas_svg(find_areas(picture))
    True
    """
    colors = [(int(red), int(green), int(blue)) for red, green, blue in areas.colors]
    names = unique_names(colors) if names is None else names
    paths = [path_data(shape) for shape in areas.polygons]
    return areas_drawing(areas, list(zip(names, colors, paths, strict=True)))


def path_data(shape: shapely.Geometry) -> str:
    """Write a polygon as SVG path data, y down: shells one way, holes the other.

    Examples
    --------
    >>> path_data(shapely.Polygon([(0, 0), (1, 0), (1, 2.5)]))
    'M0,0 1,0 1,-2.5Z'
    """
    return "".join(_rings(shape))


def _rings(shape: shapely.Geometry) -> Iterable[str]:
    rings = shapely.get_rings(shapely.orient_polygons(shapely.get_parts(shape)))
    points = exact_mm(shapely.get_coordinates(rings))
    points[:, 1] = 0.0 - points[:, 1]
    ends = np.cumsum([0, *shapely.get_num_coordinates(rings)])
    for start, end in pairwise(ends.tolist()):
        yield f"M{filled('%r,%r ', points[start : end - 1])[:-1]}Z"


def areas_drawing(areas: FlatAreas, layers: Sequence[Layer]) -> bytes:
    """Write a drawing in mm of one group for each area, given as (name, color, path data).

    Light rulers that count from the origin lie under the drawing, inside its lower and left edges, in a first
    group `frame` without a color: it is no area, and covers none. Enclosed ground has the role "ground". The
    numbers of the areas stand in a last group `numbers` that is not displayed: a layer to switch on.

    Raises
    ------
    GeometryError
        If nothing is left to draw.
    """
    bounds = shapely.total_bounds(np.asarray(areas.polygons, dtype=object))
    roles = [GROUND_ROLE if index == areas.enclosed else "" for index in range(len(layers))]
    groups = [_group(*layer, role) for layer, role in zip(layers, roles, strict=True)]
    frame = [_frame(bounds)] if np.isfinite(bounds).all() else []
    return _drawing(bounds, [*frame, *groups, *_numbers(areas.numbered)])


def _drawing(bounds: npt.NDArray[np.float64], groups: list[str]) -> bytes:
    if not np.isfinite(bounds).all():  # as those of nothing are
        raise GeometryError("there is nothing to draw; check the artwork's background and colors")
    left, bottom, right, top = exact_mm(bounds).tolist()
    width, height = mm_text(right - left), mm_text(top - bottom)
    drawn = "\n".join(groups)
    view = f"{mm_text(left)} {mm_text(-top)} {width} {height}"
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="{view}">\n'
        f"{drawn}\n</svg>\n"
    )
    return text.encode()


def _group(name: str, color: Color, data: str, role: str = "") -> str:
    label = xml_text(name)
    path = f'<path fill-rule="evenodd" d="{data}"/>'
    said = f' data-role="{role}"' if role else ""
    return f'<g id="{label}" fill="{to_hex(color)}"{said}><title>{label}</title>{path}</g>'


def _frame(bounds: npt.NDArray[np.float64]) -> str:
    """Write rulers from the origin inside the lower and left edges: lines and numbers, no path or fill."""
    left, bottom, right, top = bounds.tolist()
    unit = max(right - left, top - bottom) / FRAME_LENGTHS
    step = ruler_step(unit / 2)
    marks = []
    for value, rank in ruler_ticks(left, right, step):
        y = [mm_text(round(-bottom - part * unit, 3)) for part in (0, (1 + rank) / 3, 1.2)]
        marks.append(f'<line x1="{value}" y1="{y[0]}" x2="{value}" y2="{y[1]}"/>')
        marks += [_number(str(value), y[2], value, "middle")] if rank == NUMBERED_RANK else []
    for value, rank in ruler_ticks(bottom, top, step):
        x = [mm_text(round(left + part * unit, 3)) for part in (0, (1 + rank) / 3, 1.2)]
        marks.append(f'<line x1="{x[0]}" y1="{-value}" x2="{x[1]}" y2="{-value}"/>')
        low = mm_text(round(0.4 * unit - value, 3))
        marks += [_number(x[2], low, value, "start")] if rank == NUMBERED_RANK else []
    look = f'color="#b4b8bd" fill="none" stroke="currentColor" stroke-width="{mm_text(round(unit / 12, 3))}"'
    text = f'font-family="sans-serif" font-size="{mm_text(round(1.2 * unit, 3))}"'
    return f'<g id="frame" {look} {text}><title>mm from the middle of the artwork</title>{"".join(marks)}</g>'


def _numbers(areas: Sequence[NumberedArea]) -> list[str]:
    """Write the number of each area as large as fits in its widest place."""
    texts = []
    for number, area in enumerate(areas, start=1):
        size = area.radius_mm * _NUMBER_SHARE[len(str(number)) > 1]
        x, y = mm_text(area.at_mm[0]), mm_text(round(0.36 * size - area.at_mm[1], 3))
        texts.append(f'<text x="{x}" y="{y}" font-size="{mm_text(round(size, 3))}">{number}</text>')
    look = 'display="none" fill="#ffffff" stroke="#16181c" stroke-width="0.12" paint-order="stroke"'
    text = 'font-family="sans-serif" text-anchor="middle"'
    title = "<title>numbers of the areas</title>"
    return [f'<g id="numbers" {look} {text}>{title}{"".join(texts)}</g>'] if texts else []


def _number(x: str, y: str, value: int, anchor: str) -> str:
    return f'<text x="{x}" y="{y}" fill="currentColor" stroke="none" text-anchor="{anchor}">{value}</text>'
