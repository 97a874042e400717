"""Which style, face, top and split go together; what does not is refused with the reason and a way out.

The one place for these facts. Every combination of style, face and split has a line; tops have one line each.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import RecipeError
from ..recipe.sections import BaseSettings, HeightSettings

__all__ = ["FINE_LAYER_MM", "LEAST_RISE_MM", "PLATES", "TOPS", "Top", "refusal", "refuse_unfit", "ways_out"]

LEAST_RISE_MM = 1.2
"""Six usual layers: a lower shape comes out as two or three terraces (common practice, no source)."""

FINE_LAYER_MM = 0.12
"""Layers this fine show a shape even in a lower rise (common practice, no source)."""

_NO_NEED = "{} motifs print in one piece"
_IN_AIR = "{} motifs face down would lie on the bed with the base in the air round them"

PLATES: dict[tuple[str, str, str], str] = {
    ("raised", "up", "none"): "",
    ("raised", "up", "pegs"): _NO_NEED.format("raised"),
    ("raised", "down", "none"): _IN_AIR.format("raised"),
    ("raised", "down", "pegs"): _IN_AIR.format("raised"),
    ("flush", "up", "none"): "",
    ("flush", "up", "pegs"): _NO_NEED.format("flush"),
    ("flush", "down", "none"): "",
    ("flush", "down", "pegs"): _NO_NEED.format("flush"),
    ("sunk", "up", "none"): "",
    ("sunk", "up", "pegs"): "two plates give sunk motifs a smooth front only face down",
    ("sunk", "down", "none"): "the floors of sunk motifs would hang in the air face down",
    ("sunk", "down", "pegs"): "",
    ("stepped", "up", "none"): "",
    ("stepped", "up", "pegs"): _NO_NEED.format("stepped"),
    ("stepped", "down", "none"): _IN_AIR.format("stepped"),
    ("stepped", "down", "pegs"): _IN_AIR.format("stepped"),
}
"""Style, face and split: empty where they go together, else why not; `ways_out` says what to do."""

_PLATE_KEYS = ("heights.style", "heights.face", "heights.split")


@dataclass(frozen=True, slots=True)
class Top:
    """What a shape of top asks for.

    Parameters
    ----------
    styles, faces : tuple of str
        With which it goes; a shaped top is printed last, so it is up.
    """

    styles: tuple[str, ...]
    faces: tuple[str, ...] = ("up",)


TOPS: dict[str, Top] = {
    "flat": Top(("raised", "flush", "sunk", "stepped"), ("up", "down")),
    "chamfer": Top(("raised", "stepped")),
    "crown": Top(("raised", "stepped")),
    "brightness": Top(("raised", "stepped")),
}
"""Tops: shaped ones stand free above the last color change, so of steps only the last one takes them."""


def refusal(heights: HeightSettings, base: BaseSettings | None = None) -> str:
    """Return why these settings, their style decided, do not go together and what to do, or an empty string.

    Examples
    --------
    >>> refusal(HeightSettings(style="flush"))
    ''
    >>> refusal(HeightSettings(style="sunk", split="pegs")).partition("; ")[2]
    'set heights.split to none, or heights.face to down'
    """
    asked = (heights.style, heights.face, heights.split)
    why = PLATES[asked] and f"{PLATES[asked]}; set {', or '.join(ways_out(asked))}"
    return (
        why
        or _top(heights)
        or _own_heights(heights)
        or _steps(heights)
        or ("" if base is None else _rim(heights, base))
    )


def ways_out(asked: tuple[str, str, str]) -> list[str]:
    """Return every smallest change of style, face and split to some that go together, the smallest first.

    Examples
    --------
    >>> ways_out(("raised", "down", "none"))
    ['heights.face to up', 'heights.style to flush', 'heights.style to sunk and heights.split to pegs']
    """
    changes = [
        {key: new for key, old, new in zip(_PLATE_KEYS, asked, good, strict=True) if new != old}
        for good, why in PLATES.items()
        if not why
    ]
    smallest = [one for one in changes if not any(other.items() < one.items() for other in changes)]
    smallest.sort(key=lambda one: (len(one), "heights.style" in one))
    return [" and ".join(f"{key} to {value}" for key, value in one.items()) for one in smallest]


def refuse_unfit(heights: HeightSettings, base: BaseSettings, *, sculpted: bool = False) -> None:
    """Refuse settings that do not go together, and hand relief that would lie on the bed.

    Raises
    ------
    RecipeError
        With the reason and what to do.
    """
    why = refusal(heights, base)
    if not why and sculpted and heights.face == "down":
        why = (
            "hand relief would lie on the bed face down; set heights.face to up, or leave heights.hand empty"
        )
    if why:
        raise RecipeError(f"heights: {why}")


def _top(heights: HeightSettings) -> str:
    top = TOPS[heights.top]
    if heights.style not in top.styles:
        known = " or ".join(top.styles)
        return f"a {heights.top} top needs motifs that stand free; set heights.style to {known}"
    if heights.face not in top.faces:
        return f"a {heights.top} top would lie on the bed face down; set heights.face to up"
    return ""


def _own_heights(heights: HeightSettings) -> str:
    if heights.colors and heights.style != "raised":
        return (
            f"heights.colors goes with raised motifs; {heights.style} ones have one height,"
            " so leave it empty or set heights.style to raised"
        )
    return ""


def _steps(heights: HeightSettings) -> str:
    if heights.steps and heights.style != "stepped":
        return (
            f"heights.steps goes with stepped motifs; {heights.style} ones have no steps,"
            " so leave it empty or set heights.style to stepped"
        )
    return ""


def _rim(heights: HeightSettings, base: BaseSettings) -> str:
    if base.rim_mm == 0:
        return ""
    if heights.face == "down":
        return "a raised rim would lie on the bed face down; set base.rim_mm to 0 or heights.face to up"
    if heights.style == "stepped":
        return (
            "a raised rim has the base's color in the layers of every step;"
            " set base.rim_mm to 0 or heights.style to raised"
        )
    return ""
