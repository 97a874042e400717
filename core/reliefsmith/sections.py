"""The sections of the recipe: every setting with its kind, unit, bounds, default and help, declared once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .errors import RecipeError
from .settings import Section, setting, shown
from .tables import Spool

__all__ = [
    "AreasSettings",
    "ArtworkSettings",
    "BackgroundSettings",
    "BaseSettings",
    "ColorSettings",
    "CostSettings",
    "FilamentSettings",
    "HangSettings",
    "HeightSettings",
    "MotifSettings",
    "OrderSettings",
    "PieceSettings",
    "PrinterSettings",
    "SizeSettings",
]


@dataclass(frozen=True, slots=True)
class ArtworkSettings(Section):
    """Limits for reading the picture."""

    NAME: ClassVar[str] = "artwork"
    max_megapixels: float = setting(
        50.0, "number", "largest picture that is read", unit="megapixels", low=0.01, high=500.0
    )


@dataclass(frozen=True, slots=True)
class SizeSettings(Section):
    """How large the artwork is printed."""

    NAME: ClassVar[str] = "size"
    width_mm: float | None = setting(None, "number", "width of the artwork", unit="mm", low=5, high=2000)
    height_mm: float | None = setting(
        None, "number", "height of the artwork, instead of its width", unit="mm", low=5, high=2000
    )
    longest_mm: float = setting(
        68.0, "number", "longest side where neither width nor height is given", unit="mm", low=5, high=2000
    )
    measure: str = setting(
        "artwork", "choice", "what the width or height counts", choices=("artwork", "piece")
    )


@dataclass(frozen=True, slots=True)
class BackgroundSettings(Section):
    """What of the picture is background."""

    NAME: ClassVar[str] = "background"
    mode: str = setting(
        "auto",
        "choice",
        "background is what is transparent, what touches the picture's border, or nothing",
        choices=("auto", "alpha", "border", "none"),
    )
    enclosed: str = setting(
        "auto",
        "choice",
        "enclosed areas in the background's color: by rule, kept as a color, or removed",
        choices=("auto", "keep", "remove"),
    )


@dataclass(frozen=True, slots=True)
class ColorSettings(Section):
    """Which flat colors the picture has."""

    NAME: ClassVar[str] = "colors"
    count: int = setting(
        0, "integer", "number of flat colors without the background; 0 finds it", low=0, high=8
    )
    palette: tuple[str, ...] = setting((), "colors", "the flat colors, given", high=8)
    merge: tuple[tuple[str, str], ...] = setting((), "color-pairs", "pairs of colors: from, to")
    omit: tuple[str, ...] = setting((), "colors", "colors that are left out", high=64)
    base: str = setting("auto", "color", "color of the base", choices=("auto",))


@dataclass(frozen=True, slots=True)
class AreasSettings(Section):
    """How boundaries are drawn."""

    NAME: ClassVar[str] = "areas"
    smoothing: float = setting(
        0.5, "number", "smoothing of boundaries: 0 follows the picture closely, 1 is smoothest", low=0, high=1
    )
    curves: str = setting(
        "lines",
        "choice",
        "how the SVG of `areas` draws boundaries: short lines, or Bezier curves within 0.01 mm of them",
        choices=("lines", "bezier"),
    )


@dataclass(frozen=True, slots=True)
class BaseSettings(Section):
    """What carries the motifs."""

    NAME: ClassVar[str] = "base"
    shape: str = setting(
        "outline",
        "choice",
        "shape of the base",
        choices=("outline", "hull", "circle", "rectangle", "shield"),
    )
    border_mm: float = setting(1.0, "number", "border round the artwork", unit="mm", low=0, high=50)
    corners: str = setting("round", "choice", "corners of the border", choices=("round", "miter", "bevel"))
    openings: str = setting(
        "keep",
        "choice",
        "openings of the artwork: keep, fill, or fill the small ones",
        choices=("keep", "fill", "small"),
    )
    small_opening_mm: float = setting(
        3.0, "number", "openings narrower than this count as small", unit="mm", low=0, high=100
    )
    margin_mm: float = setting(0.3, "number", "least base left round every motif", unit="mm", low=0, high=20)
    min_width_mm: float = setting(
        2.0, "number", "least width of the base, for strength", unit="mm", low=0, high=20
    )


@dataclass(frozen=True, slots=True)
class MotifSettings(Section):
    """What is printable on the base."""

    NAME: ClassVar[str] = "motif"
    min_stroke_mm: float = setting(
        0.6,
        "number",
        "least stroke, for a nozzle of 0.4 mm; a wider one scales it up",
        unit="mm",
        low=0,
        high=10,
    )
    min_gap_mm: float = setting(
        0.5, "number", "least gap between motifs, scaled as well", unit="mm", low=0, high=10
    )
    min_dot_mm: float = setting(1.0, "number", "least dot, scaled as well", unit="mm", low=0, high=10)


@dataclass(frozen=True, slots=True)
class PieceSettings(Section):
    """How separate pieces become one."""

    NAME: ClassVar[str] = "pieces"
    connect: str = setting(
        "links", "choice", "how separate pieces are joined", choices=("links", "grow", "backing", "none")
    )
    link_mm: float = setting(3.0, "number", "width of a link", unit="mm", low=2, high=20)


@dataclass(frozen=True, slots=True)
class HangSettings(Section):
    """Where and on what the piece hangs."""

    NAME: ClassVar[str] = "hang"
    hardware: str = setting(
        "auto",
        "choice",
        "what the piece hangs on",
        choices=("auto", "split-ring", "jump-ring", "ball-chain", "cord", "none"),
    )
    hole_mm: float = setting(5.0, "number", "diameter of the hanging hole", unit="mm", low=1, high=50)
    wall_mm: float = setting(2.5, "number", "wall round the hanging hole", unit="mm", low=0.8, high=20)
    at_mm: tuple[float, float] | None = setting(
        None,
        "point",
        "centre of the hanging hole, if placed by hand",
        unit="mm",
        low=-2000,
        high=2000,
    )


@dataclass(frozen=True, slots=True)
class HeightSettings(Section):
    """How high everything is."""

    NAME: ClassVar[str] = "heights"
    style: str = setting(
        "raised",
        "choice",
        "how motifs stand in the base",
        choices=("raised", "flush", "sunk", "stepped"),
    )
    base_mm: float = setting(2.0, "number", "height of the base", unit="mm", low=0.2, high=50)
    motif_mm: float = setting(
        0.6,
        "number",
        "height of motifs, or of each step, above what they stand on; depth of flush and sunk ones",
        unit="mm",
        low=0.1,
        high=50,
    )
    layer_mm: float = setting(0.2, "number", "layer height", unit="mm", low=0.04, high=1)
    first_layer_mm: float = setting(0.2, "number", "height of the first layer", unit="mm", low=0.04, high=1)
    face: str = setting("up", "choice", "which side is up while printing", choices=("up",))
    top: str = setting("flat", "choice", "shape of the tops", choices=("flat",))


@dataclass(frozen=True, slots=True)
class PrinterSettings(Section):
    """The machine and its filament; the estimate is made from these."""

    NAME: ClassVar[str] = "printer"
    nozzle_mm: float = setting(0.4, "number", "nozzle diameter", unit="mm", low=0.1, high=2)
    bed_mm: tuple[float, float] = setting(
        (220.0, 220.0), "size", "printable width and depth", unit="mm", low=20, high=3000
    )
    filaments: int = setting(
        1, "integer", "filaments loaded at once; 1 means changes by hand", low=1, high=16
    )
    flow_mm3_s: float = setting(
        5.0, "number", "mean flow while printing, moves included", unit="mm3/s", low=0.1, high=100
    )
    layer_s: float = setting(6.0, "number", "time lost at each layer", unit="s", low=0, high=600)
    change_s: float = setting(60.0, "number", "machine time of one color change", unit="s", low=0, high=3600)
    change_attended_min: float = setting(
        3.0, "number", "hand work at one color change by hand", unit="min", low=0, high=120
    )
    warm_up_min: float = setting(4.0, "number", "warm-up, counted apart", unit="min", low=0, high=120)
    purge_mm3: float = setting(
        70.0, "number", "purged at one color change inside a layer", unit="mm3", low=0, high=5000
    )
    filament_mm: float = setting(1.75, "number", "filament diameter", unit="mm", low=1, high=5)
    density_g_cm3: float = setting(1.24, "number", "filament density", unit="g/cm3", low=0.5, high=10)


@dataclass(frozen=True, slots=True)
class FilamentSettings(Section):
    """Which filaments there are to match the parts' colors."""

    NAME: ClassVar[str] = "filaments"
    stock: tuple[Spool, ...] = setting(
        (), "tables", "filaments at hand, each a table; parts are matched to them", most=64, row=Spool
    )
    only_stock: bool = setting(False, "flag", "match nothing but what is in stock")

    def __post_init__(self) -> None:
        Section.__post_init__(self)
        names = [spool.name for spool in self.stock]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise RecipeError(f"filaments.stock names {shown(twice)} twice; give every filament its own name")


@dataclass(frozen=True, slots=True)
class CostSettings(Section):
    """What the piece costs."""

    NAME: ClassVar[str] = "cost"
    filament_per_kg: float = setting(25.0, "number", "price of a kilogram of filament", low=0, high=10000)
    machine_per_hour: float = setting(0.0, "number", "price of a machine hour", low=0, high=10000)
    hand_per_hour: float = setting(0.0, "number", "price of an hour of hand work", low=0, high=10000)
    currency: str = setting("EUR", "text", "currency, as it is printed", high=8)


@dataclass(frozen=True, slots=True)
class OrderSettings(Section):
    """What the proof and the job sheet say of the order."""

    NAME: ClassVar[str] = "order"
    title: str = setting("", "text", "name of the job", high=120)
    customer: str = setting("", "text", "who ordered it", high=120)
    code: str = setting("", "text", "order code", high=40)
    quantity: int = setting(1, "integer", "pieces ordered", low=1, high=100000)
