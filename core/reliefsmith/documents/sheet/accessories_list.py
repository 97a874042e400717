"""What goes with a piece and is printed by itself, on the job sheet."""

from __future__ import annotations

from ...mesh import signed_volume
from ...model import Accessory, Result
from ..html import Markup, el, listing, section, table
from ..wording import mm, sides_words

__all__ = ["accessories_section"]


def accessories_section(result: Result) -> Markup:
    """Write which things are printed apart, how large they are, and how they go together with the piece.

    Empty where there are none.
    """
    if not result.accessories:
        return Markup("")
    rows = [_row(result, item) for item in result.accessories]
    steps = [words for item in result.accessories for words in item.fitting]
    return section(
        "accessories",
        "What goes with it",
        el(
            "p",
            "Each is a print of its own, as it lies in its file, not counted in material and time below.",
        ),
        table(("Part", "Pieces", "Size", "Mass of all", "File"), rows, caption="Printed apart"),
        listing(steps, ordered=True),
    )


def _row(result: Result, item: Accessory) -> tuple[str, ...]:
    low, high = item.bounds
    volume = item.copies * sum(signed_volume(part.vertices, part.triangles) for part in item.parts)
    return (
        item.name,
        str(item.copies),
        sides_words(b - a for a, b in zip(low, high, strict=True)),
        f"{mm(result.recipe.printer.mass_g(volume))} g",
        f"{result.stem}-{item.name}.3mf",
    )
