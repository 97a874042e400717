"""Sections on the picture: reading it, its size, background, flat colors, boundaries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import Section, setting
from .limits import MOST_COLORS, NARROWEST_MM, WIDEST_MM

__all__ = ["AreasSettings", "ArtworkSettings", "BackgroundSettings", "ColorSettings", "SizeSettings"]


@dataclass(frozen=True, slots=True)
class ArtworkSettings(Section):
    """Which part of the picture is the art's, and limits for reading it."""

    NAME: ClassVar[str] = "artwork"
    kind: str = setting(
        "auto",
        "what the picture is: flat takes it as it is, auto tells, and takes painted checkerboards out",
        choices=("auto", "flat", "dithered", "screenshot", "paper"),
    )
    crop: tuple[float, float, float, float] | None = setting(
        None,
        "the part that is read: x, y, width, height from the upper left corner; all where unset",
        kind="box",
        unit="px",
        low=0,
        high=100_000,
    )
    corners: tuple[tuple[float, float], ...] | None = setting(
        None,
        "corners of a sheet seen at a slant, clockwise from the upper left one as seen; made straight; "
        "found in a photograph where unset",
        kind="polygon",
        unit="px",
        low=-100_000,
        high=100_000,
        most=4,
    )
    mirror: bool = setting(
        False,
        "mirror the picture left to right, and texts of the front with it, as the face of a stamp needs",
    )
    max_megapixels: float = setting(
        50.0, "largest picture that is read", unit="megapixels", low=0.01, high=500.0
    )
    max_file_mib: float = setting(512.0, "largest picture file that is read", unit="MiB", low=0.01, high=4096)
    max_drawing_mib: float = setting(
        16.0, "largest text of an SVG that is read", unit="MiB", low=0.001, high=256
    )
    max_elements: int = setting(
        100_000, "elements of an SVG; by references it may draw twice as many", low=1, high=2_000_000
    )
    max_depth: int = setting(64, "levels of elements in an SVG", low=1, high=200)
    max_draw_s: float = setting(20.0, "time that the renderer may work on an SVG", unit="s", low=1, high=3600)
    max_draw_gib: float = setting(
        4.0, "memory that the renderer may take for an SVG", unit="GiB", low=0.25, high=256
    )


@dataclass(frozen=True, slots=True)
class SizeSettings(Section):
    """How large the artwork is printed."""

    NAME: ClassVar[str] = "size"
    width_mm: float | None = setting(None, "width of the artwork", low=NARROWEST_MM, high=WIDEST_MM)
    height_mm: float | None = setting(
        None, "height of the artwork, instead of its width", low=NARROWEST_MM, high=WIDEST_MM
    )
    longest_mm: float = setting(
        68.0, "longest side where neither width nor height is given", low=NARROWEST_MM, high=WIDEST_MM
    )
    measure: str = setting("artwork", "what the width or height counts", choices=("artwork", "piece"))

    def enlarged(
        self, artwork_mm: tuple[float, float], piece_mm: tuple[float, float], by: float
    ) -> tuple[str, float]:
        """Return the setting, and its value in mm, that makes the artwork `by` times as large.

        Parameters
        ----------
        artwork_mm, piece_mm : (float, float)
            Width and height now: of the artwork, and of all with border and eyelet, which stay as wide.
        by : float

        Examples
        --------
        >>> SizeSettings(width_mm=42.0, measure="piece").enlarged((40.0, 30.0), (42.0, 36.0), 1.5)
        ('size.width_mm', 62.0)
        """
        side, axis = ("height_mm", 1) if self.height_mm is not None else ("width_mm", 0)
        now = (piece_mm if self.measure == "piece" else artwork_mm)[axis]
        return f"size.{side}", now + artwork_mm[axis] * (by - 1)


@dataclass(frozen=True, slots=True)
class BackgroundSettings(Section):
    """What of the picture is background."""

    NAME: ClassVar[str] = "background"
    mode: str = setting(
        "auto",
        "background is what is transparent, what touches the picture's border, or nothing",
        choices=("auto", "alpha", "border", "none"),
    )
    color: str = setting(
        "auto",
        "color of an opaque picture's background, picked from it; auto takes what the border shows",
        kind="color",
        choices=("auto",),
    )
    enclosed: str = setting(
        "auto",
        "ground that the art encloses: shown (by the base where that has its color), a part of its own, "
        "or openings",
        choices=("auto", "keep", "remove"),
    )


@dataclass(frozen=True, slots=True)
class ColorSettings(Section):
    """Which flat colors the picture has."""

    NAME: ClassVar[str] = "colors"
    count: int = setting(
        0, "number of flat colors without the background; 0 finds it", low=0, high=MOST_COLORS
    )
    most: int = setting(
        0,
        "most colors of the piece, the base's too: others are folded into them; 0 is no limit, a count wins",
        low=0,
        high=MOST_COLORS + 1,
    )
    palette: tuple[str, ...] = setting((), "the flat colors, given", kind="colors", high=MOST_COLORS)
    merge: tuple[tuple[str, str], ...] = setting((), "pairs of colors: from, to", kind="color-pairs")
    omit: tuple[str, ...] = setting((), "colors that are left out", kind="colors", high=64)
    base: str = setting("auto", "color of the base", kind="color", choices=("auto",))


@dataclass(frozen=True, slots=True)
class AreasSettings(Section):
    """How boundaries are drawn."""

    NAME: ClassVar[str] = "areas"
    smoothing: float = setting(
        0.5, "smoothing of boundaries: 0 follows the picture closely, 1 is smoothest", low=0, high=1
    )
    curves: str = setting(
        "lines",
        "how the SVG of `areas` draws boundaries: short lines, or Bezier curves within 0.01 mm of them",
        choices=("lines", "bezier"),
    )
