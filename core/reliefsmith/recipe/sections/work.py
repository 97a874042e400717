"""Sections on the work: the machine, the filaments, the beds, the cost, the order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ...errors import RecipeError
from ..hints import shown
from ..settings import Section, setting
from ..tables import PartColor, Spool
from .limits import USUAL_NOZZLE_MM

__all__ = ["BedSettings", "CostSettings", "FilamentSettings", "OrderSettings", "PrinterSettings"]


@dataclass(frozen=True, slots=True)
class PrinterSettings(Section):
    """The machine and its filament; the estimate is made from these."""

    NAME: ClassVar[str] = "printer"
    nozzle_mm: float = setting(USUAL_NOZZLE_MM, "nozzle diameter", low=0.1, high=2)
    least_stroke_mm: float | None = setting(
        None,
        "narrowest stroke that came out on the test piece, instead of motif.min_stroke_mm",
        low=0.1,
        high=10,
    )
    least_gap_mm: float | None = setting(
        None,
        "narrowest gap that stayed open on the test piece, instead of motif.min_gap_mm",
        low=0.1,
        high=10,
    )
    hole_loss_mm: float = setting(
        0.0,
        "how much narrower than drawn a hole came out on the test piece; holes are drawn wider by it",
        low=-0.5,
        high=1,
    )
    # Small on purpose: what passes lies on most beds.
    bed_mm: tuple[float, float] = setting(
        (200.0, 200.0), "printable width and depth", kind="size", low=20, high=3000
    )
    filaments: int = setting(1, "filaments loaded at once; 1 means changes by hand", low=1, high=16)
    flow_mm3_s: float = setting(
        5.0, "mean flow while printing, moves included", unit="mm3/s", low=0.1, high=100
    )
    layer_s: float = setting(6.0, "time lost at each layer", unit="s", low=0, high=600)
    change_s: float = setting(60.0, "machine time of one color change", unit="s", low=0, high=3600)
    change_attended_min: float = setting(
        3.0, "hand work at one color change by hand", unit="min", low=0, high=120
    )
    warm_up_min: float = setting(4.0, "warm-up, counted apart", unit="min", low=0, high=120)
    # Three times what is molten in a nozzle (a bore of 2 mm, 10 mm long: 31 mm3), rounded up: an assumption.
    purge_mm3: float = setting(
        100.0, "purged at one color change inside a layer", unit="mm3", low=0, high=5000
    )
    filament_mm: float = setting(1.75, "filament diameter", low=1, high=5)
    density_g_cm3: float = setting(1.24, "filament density", unit="g/cm3", low=0.5, high=10)

    def mass_g(self, volume_mm3: float) -> float:
        """Return the mass in g of a volume of plastic.

        Examples
        --------
        >>> PrinterSettings(density_g_cm3=1.25).mass_g(1000.0)
        1.25
        """
        return volume_mm3 * self.density_g_cm3 / 1000.0  # mm3 of a cm3


@dataclass(frozen=True, slots=True)
class FilamentSettings(Section):
    """Which filaments there are to match the parts' colors."""

    NAME: ClassVar[str] = "filaments"
    stock: tuple[Spool, ...] = setting(
        (), "filaments at hand, each a table; parts are matched to them", most=64, row=Spool
    )
    only_stock: bool = setting(False, "match nothing but what is in stock")
    parts: tuple[PartColor, ...] = setting(
        (), "parts printed in another color than the picture's, each a table", most=64, row=PartColor
    )

    def __post_init__(self) -> None:
        Section.__post_init__(self)
        if twice := _twice([spool.name for spool in self.stock]):
            raise RecipeError(f"filaments.stock names {shown(twice)} twice; give every filament its own name")
        if twice := _twice([row.part for row in self.parts]):
            raise RecipeError(f"filaments.parts names {shown(twice)} twice; give every part one color")


def _twice(names: list[str]) -> str:
    """Return a name that is there more than once, or an empty string."""
    return next((name for name in names if names.count(name) > 1), "")


@dataclass(frozen=True, slots=True)
class BedSettings(Section):
    """How finished pieces are laid onto the beds of the printer."""

    NAME: ClassVar[str] = "beds"
    # 5 mm: common practice, no source.
    spacing_mm: float = setting(5.0, "least distance of two pieces", low=0.5, high=50)
    cell_mm: float = setting(0.5, "how finely places are tried; finer lays more tightly", low=0.25, high=5)
    turns: str = setting(
        "quarter", "how pieces may be turned: by 90 or by 45 degrees", choices=("quarter", "eighth")
    )
    strip_mm: float = setting(0.0, "strip along the back left free, as for a purge tower", low=0, high=1000)
    first_alone: bool = setting(
        True, "print the first piece of each set of filaments and heights alone, before the rest"
    )

    @property
    def turn_count(self) -> int:
        """At how many turns a piece may lie."""
        return 4 if self.turns == "quarter" else 8


@dataclass(frozen=True, slots=True)
class CostSettings(Section):
    """What a piece, and an order, costs: the shop's own numbers; what is 0 is not counted."""

    NAME: ClassVar[str] = "cost"
    filament_per_kg: float = setting(25.0, "price of a kilogram of filament", low=0, high=10000)
    machine_per_hour: float = setting(
        0.0, "price of a machine hour: its price by its hours, power, upkeep", low=0, high=10000
    )
    hand_per_hour: float = setting(0.0, "price of an hour of hand work", low=0, high=10000)
    currency: str = setting("EUR", "currency, as it is printed", high=8)
    order_min: float = setting(
        0.0, "hand work for an order: its file, proof and corrections", unit="min", low=0, high=10000
    )
    bed_min: float = setting(
        0.0, "hand work for a bed: setting up, start, taking off", unit="min", low=0, high=1000
    )
    finish_min: float = setting(
        0.0, "hand work for cleaning and finishing a piece", unit="min", low=0, high=1000
    )
    fit_min: float = setting(0.0, "hand work for fitting a piece's hardware", unit="min", low=0, high=1000)
    pack_min: float = setting(0.0, "hand work for packing a piece", unit="min", low=0, high=1000)
    hardware_each: float = setting(0.0, "price of a piece's hardware", low=0, high=10000)
    packing_each: float = setting(0.0, "price of a piece's bag or card", low=0, high=10000)
    parcel: float = setting(0.0, "price of an order's parcel", low=0, high=10000)
    change_g: float = setting(
        0.0, "filament pushed through at a change between layers", unit="g", low=0, high=100
    )
    failures: float = setting(
        0.0, "share of prints that fail, over which machine and material are spread", low=0, high=0.9
    )
    profit: float = setting(0.0, "share that is put on the cost, or kept of the price", low=0, high=10)
    profit_of: str = setting("cost", "what the profit is a share of", choices=("cost", "price"))
    minimum: float = setting(0.0, "least price of an order, before tax", low=0, high=1000000)
    round_to: float = setting(0.01, "prices are rounded up to a multiple of this", low=0.01, high=100)
    round_what: str = setting(
        "total", "what is rounded up: the price of a piece, or of the order", choices=("piece", "total")
    )
    tax: float = setting(0.0, "tax, as a share of the rounded price", low=0, high=1)
    corrections: int = setting(1, "corrections of the proof that the price includes", low=0, high=100)
    valid_until: str = setting("", "how long a quote holds, as it is printed", high=40)

    def __post_init__(self) -> None:
        Section.__post_init__(self)
        if self.profit_of == "price" and self.profit >= 1:
            raise RecipeError(
                f"cost.profit of {self.profit:g} cannot be kept of the price; set less than 1, such as 0.3"
            )


@dataclass(frozen=True, slots=True)
class OrderSettings(Section):
    """What was ordered: proof, job sheet and quote say it."""

    NAME: ClassVar[str] = "order"
    title: str = setting("", "name of the job", high=120)
    customer: str = setting("", "who ordered it", high=120)
    code: str = setting("", "order code", high=40)
    reference: str = setting("", "the customer's own word for the order", high=80)
    quantity: int = setting(1, "pieces ordered", low=1, high=100000)
    deadline: str = setting("", "by when it is wanted, as it is printed", high=40)
    spelling: str = setting("", "every letter and number that the piece shows, exactly", high=400)
    hardware: str = setting("", "what the customer wants it to hang on, in words", high=120)
    rights: str = setting("", "who owns the drawing, and who allowed the print", high=400)
