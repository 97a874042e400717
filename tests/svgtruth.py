"""What an SVG drawing shows of each color, as exact polygons: flattened paths, later paint over earlier."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.affinity import affine_transform
from svgelements import Color, Matrix
from svgelements import Path as Outline

CURVE_STEPS = 48


def visible_areas(body: str, box: tuple[float, float, float, float]) -> dict:
    """Return what is seen of each color, as polygons in the units of the box.

    Raises
    ------
    ValueError
        For anything that is no flat, opaque paint: gradients, opacity, filters, text, general masks.
    """
    root = ET.fromstring(f'<svg xmlns:xlink="http://www.w3.org/1999/xlink" {_xmlns()}>{body}</svg>')
    frame = shapely.box(box[0], box[1], box[0] + box[2], box[1] + box[3])
    seen: dict = {}
    for color, shape in _paints(root, {}, Matrix(), {}):
        area = shape.intersection(frame)
        if area.is_empty:
            continue
        for other in list(seen):
            if other != color:
                seen[other] = seen[other].difference(area)
        seen[color] = seen[color].union(area) if color in seen else area
    return {color: area for color, area in seen.items() if area.area > 0}


def _xmlns() -> str:
    return 'xmlns="http://www.w3.org/2000/svg"'


STYLED = (
    "fill",
    "fill-rule",
    "stroke",
    "stroke-width",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
)
REFUSED = ("opacity", "fill-opacity", "stroke-opacity", "filter", "clip-path", "class", "stroke-dasharray")


def _paints(node: ET.Element, style: dict, matrix: Matrix, masks: dict) -> Iterator[tuple]:  # noqa: C901
    tag = node.tag.split("}")[-1]
    own = dict(style)
    for item in (node.get("style") or "").split(";"):
        if ":" in item:
            name, value = item.split(":", 1)
            node.set(name.strip(), value.strip())
    if any(node.get(name) not in (None, "1", "none") for name in REFUSED):
        raise ValueError("not flat")
    own.update({name: node.get(name) for name in STYLED if node.get(name) is not None})
    if node.get("transform"):
        matrix = Matrix(node.get("transform")) * matrix
    if tag == "mask":
        disc = list(node)
        if len(disc) != 1 or disc[0].get("fill") not in ("#fff", "white", "#ffffff"):
            raise ValueError("general mask")
        masks[node.get("id")] = next(shape for _, shape in _paints(disc[0], {}, matrix, {}))
    elif tag in ("svg", "g"):
        hidden = re.match(r"url\(#(.*)\)", node.get("mask") or "")
        for child in node:
            for color, shape in _paints(child, own, matrix, masks):
                yield color, shape.intersection(masks[hidden.group(1)]) if hidden else shape
    elif tag in ("path", "circle", "ellipse", "rect", "polygon", "line", "polyline"):
        if node.get("mask"):
            raise ValueError("mask on a shape")
        yield from _shape(node, tag, own, matrix)
    elif tag not in ("title", "desc", "defs", "metadata") or len(node):
        raise ValueError(f"unsupported {tag}")


def _shape(node: ET.Element, tag: str, style: dict, matrix: Matrix) -> Iterator[tuple]:
    """Give the shape's paints, made in its own units and then moved: a skewed stroke is not even."""
    to_parent = [matrix.a, matrix.c, matrix.b, matrix.d, matrix.e, matrix.f]
    lines = [line for line in _flattened(_data(node, tag)) if len(line) > 1]
    fill, stroke = style.get("fill", "#000"), style.get("stroke", "none")
    if fill != "none":
        area = filled([line for line in lines if len(line) > 2], style.get("fill-rule", "nonzero"))
        yield _rgb(fill), affine_transform(area, to_parent)
    if stroke != "none":
        caps = {"butt": "flat", "round": "round", "square": "square"}
        joins = {"miter": "mitre", "round": "round", "bevel": "bevel"}
        strokes = [
            shapely.LineString(line).buffer(
                float(style.get("stroke-width", 1)) / 2,
                quad_segs=48,
                cap_style=caps[style.get("stroke-linecap", "butt")],
                join_style=joins[style.get("stroke-linejoin", "miter")],
                mitre_limit=float(style.get("stroke-miterlimit", 4)),
            )
            for line in lines
        ]
        yield _rgb(stroke), affine_transform(shapely.union_all(strokes), to_parent)


def _rgb(text: str) -> tuple[int, int, int]:
    if text.startswith("url") or text in ("currentColor", "inherit"):
        raise ValueError("not flat")
    color = Color(text)
    if color.alpha != 255:
        raise ValueError("not opaque")
    return color.red, color.green, color.blue


def _data(node: ET.Element, tag: str) -> str:
    """Return any basic shape as path data (SVG 2, chapter 10)."""

    def number(name: str, default: float = 0.0) -> float:
        return float(node.get(name, default))

    if tag == "path":
        return node.get("d", "")
    if tag in ("polygon", "polyline"):
        return f"M{node.get('points')}" + ("Z" if tag == "polygon" else "")
    if tag == "line":
        return f"M{number('x1')},{number('y1')}L{number('x2')},{number('y2')}"
    if tag == "rect":
        x, y, w, h = number("x"), number("y"), number("width"), number("height")
        rx = min(number("rx", number("ry")), w / 2)
        ry = min(number("ry", number("rx")), h / 2)
        if not rx or not ry:
            return f"M{x},{y}h{w}v{h}h{-w}Z"
        arc = f"a{rx},{ry} 0 0 1"
        return (
            f"M{x + rx},{y}h{w - 2 * rx}{arc} {rx},{ry}v{h - 2 * ry}{arc} {-rx},{ry}"
            f"h{2 * rx - w}{arc} {-rx},{-ry}v{2 * ry - h}{arc} {rx},{-ry}Z"
        )
    rx, ry = number("rx", number("r")), number("ry", number("r"))
    cx, cy = number("cx"), number("cy")
    return f"M{cx - rx},{cy}a{rx},{ry} 0 1 1 {2 * rx},0a{rx},{ry} 0 1 1 {-2 * rx},0Z"


def _flattened(data: str) -> list[np.ndarray]:
    """Return the subpaths as polylines; curves become CURVE_STEPS chords."""
    lines: list[list] = []
    steps = np.arange(1, CURVE_STEPS + 1) / CURVE_STEPS
    for segment in Outline(data):
        kind = type(segment).__name__
        if kind == "Move":
            lines.append([segment.end])
        elif kind in ("Line", "Close"):
            if segment.end is not None:
                lines[-1].append(segment.end)
            if kind == "Close":
                lines.append([segment.end])
        else:
            lines[-1].extend(segment.npoint(steps))
    return [np.array([tuple(point) for point in line], float) for line in lines if len(line) > 1]


def filled(lines: list[np.ndarray], rule: str) -> shapely.Geometry:
    """Return the area that closed polylines fill by the rule "nonzero" or "evenodd" (SVG 2, 13.4.2)."""
    rings = [np.vstack((line, line[:1])) for line in lines]
    if not rings:
        return shapely.Polygon()
    noded = shapely.union_all(np.array([shapely.LineString(ring) for ring in rings], dtype=object))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    inside = [face for face in faces if _winds(face.representative_point(), rings, rule)]
    return shapely.union_all(inside) if inside else shapely.Polygon()


def _winds(point: shapely.Point, rings: list[np.ndarray], rule: str) -> bool:
    total = 0
    for ring in rings:
        x, y = ring[:, 0] - point.x, ring[:, 1] - point.y
        cross = x[:-1] * y[1:] - x[1:] * y[:-1]
        up, down = (y[:-1] <= 0) & (y[1:] > 0) & (cross > 0), (y[:-1] > 0) & (y[1:] <= 0) & (cross < 0)
        total += int(up.sum()) - int(down.sum())
    return total % 2 == 1 if rule == "evenodd" else total != 0


def as_multi(area: shapely.Geometry) -> shapely.MultiPolygon:
    parts = [part for item in shapely.get_parts(area) for part in shapely.get_parts(item)]
    parts = [part for part in parts if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)
