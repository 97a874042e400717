"""Write the areas as GeoJSON in millimetres, with the frame that ties them to the source picture."""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from ..colorimetry.words import to_hex, unique_names
from ..model.areas import GROUND_ROLE, FlatAreas, Frame
from .decimals import exact_mm

__all__ = ["areas_geojson", "frame_members", "numbered_members"]


def frame_members(frame: Frame) -> dict[str, Any]:
    """Give the frame as GeoJSON and report carry it.

    Examples
    --------
    >>> members = frame_members(Frame(0.1, (320.0, 240.0), 0.0, (640, 480)))
    >>> members["mm_per_px"], members["origin_px"], members["image_px"], members["to_source"][0]
    (0.1, [320.0, 240.0], [640, 480], [1.0, 0.0, 0.0])
    """
    return {
        "mm_per_px": float(frame.mm_per_px),
        "origin_px": [float(value) for value in frame.origin_px],
        "turn_deg": float(frame.turn_deg),
        "image_px": [int(value) for value in frame.image_px],
        "to_source": [list(frame.to_source[row : row + 3]) for row in (0, 3, 6)],
    }


def numbered_members(areas: FlatAreas) -> list[dict[str, Any]]:
    """Give the areas with their numbers, as they were before marks, as GeoJSON and reports carry them.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith.walk.pipeline import find_areas
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> (area,) = numbered_members(find_areas(picture))
    >>> area["number"], area["color"], round(area["area_mm2"])
    (1, '#c8282d', 3700)
    """
    return [
        {
            "number": number,
            "color": to_hex(area.color),
            "at_mm": list(area.at_mm),
            "area_mm2": round(area.area_mm2, 4),
        }
        for number, area in enumerate(areas.numbered, start=1)
    ]


def areas_geojson(areas: FlatAreas, names: Sequence[str] | None = None) -> bytes:
    """Write one Feature with a MultiPolygon for each color; shells counter-clockwise (RFC 7946, 3.1.6).

    Coordinates are millimetres in the frame of all other files, y up, not degrees. Ground that the art
    encloses, no color of the art, has the role "ground".

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith.walk.pipeline import find_areas
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> feature = json.loads(areas_geojson(find_areas(picture)))["features"][0]
    >>> feature["properties"]["name"], feature["geometry"]["type"]
    ('red', 'MultiPolygon')
    """
    names = unique_names(areas.colors) if names is None else names
    rows = zip(names, areas.colors, areas.polygons, strict=True)
    features: list[dict[str, Any]] = [
        {
            "type": "Feature",
            "properties": {"color": to_hex(color), "name": name},
            "geometry": {"type": "MultiPolygon", "coordinates": _coordinates(shape)},
        }
        for name, color, shape in rows
    ]
    if areas.enclosed is not None:
        features[areas.enclosed]["properties"]["role"] = GROUND_ROLE
    document = {
        "type": "FeatureCollection",
        "frame": frame_members(areas.frame),
        "numbered": numbered_members(areas),
        "features": features,
    }
    return (json.dumps(document, sort_keys=True, separators=(",", ":"), allow_nan=False) + "\n").encode()


def _coordinates(shape: shapely.Geometry) -> list[list[list[list[float]]]]:
    polygons = shapely.orient_polygons(shapely.get_parts(shape))
    rings, owner = shapely.get_rings(polygons, return_index=True)
    points = exact_mm(shapely.get_coordinates(rings)).tolist()
    ends = np.cumsum([0, *shapely.get_num_coordinates(rings)]).tolist()
    nested: list[list[list[list[float]]]] = [[] for _ in polygons]
    for polygon, (start, end) in zip(owner.tolist(), pairwise(ends), strict=True):
        nested[polygon].append(points[start:end])
    return nested
