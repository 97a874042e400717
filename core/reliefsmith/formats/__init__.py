"""File formats: writers give bytes, readers give parts; only `folder` touches a disk to write."""

from __future__ import annotations

from .geojson import areas_geojson, frame_members, numbered_members
from .glb import glb_bytes
from .markup import xml_text
from .registry import AREA_WRITERS, CURVE_WRITERS, READERS, WITHOUT_UNIT, read_parts, read_pieces
from .stl import stl_bytes
from .svg import areas_svg, path_data, plan_svg
from .svg_curves import curved_areas_svg
from .threemf import threemf_bytes

__all__ = [
    "AREA_WRITERS",
    "CURVE_WRITERS",
    "READERS",
    "WITHOUT_UNIT",
    "areas_geojson",
    "areas_svg",
    "curved_areas_svg",
    "frame_members",
    "glb_bytes",
    "numbered_members",
    "path_data",
    "plan_svg",
    "read_parts",
    "read_pieces",
    "stl_bytes",
    "threemf_bytes",
    "xml_text",
]
