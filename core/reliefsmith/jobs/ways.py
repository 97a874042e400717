"""Other ways to make a piece: other bases, sizes, styles, really made, as many as differ to the eye."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, zip_longest
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from ..colorimetry import ciede2000, srgb_to_lab
from ..errors import OutputError, RecipeError, ReliefsmithError
from ..model import Fidelity, Mended, Result, Stack, Way
from ..polygons.cover import View, covering
from ..progress import Progress, Steps
from ..recipe.recipe import Recipe, toml_value
from ..walk.inputs import stem_of
from ..walk.pipeline import Job
from .decisions import PLAIN_DELTA_E, decisions

__all__ = ["MOST_WAYS", "picked", "way_file", "ways_steps"]

MOST_WAYS = 6
"""Pictures that are told apart at a glance, on one page."""

_MOST_TRIED = 10
"""Ways that are begun at most: many bases lose what the present one shows."""

_LEAST_SEEN = 0.02
"""Share of the piece that must look otherwise before a way is another one to the eye."""

_MOST_LOSS = 0.02
"""Share of the picture's edges, or of its paint, that another way may lose beside the present one; paint is
what fewer colors are given for."""

_LARGER, _LEAST_GAIN = (1.5, 2.0), 0.005
"""How much larger a piece is tried that loses by repair, and what more it must show, edges and paint."""

_FEWEST, _LOADED = 2, 4
"""Colors of a piece at least, as one would show nothing; filaments that machines with several hold: common
practice, no source."""

_STEP_MM = 0.3
"""A step in height that is seen and felt: common practice, no source."""

_CELLS = 200
"""Along the longest side, when two pieces are held against each other."""

_ROUND = 1.2
"""A circle that covers at most this many times as much as the rectangle is the tighter plate to the eye."""

Settings: TypeAlias = dict[str, Any]
Seen: TypeAlias = tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]


def ways_steps(job: Job, recipe: Recipe) -> Steps[tuple[Way, ...]]:
    """Find ways to make a piece, each made by the stages, in small steps; what they share is made once.

    Parameters
    ----------
    job : Job
    recipe : Recipe
        The way that is asked for, which comes first.

    Returns
    -------
    tuple of Way
        At most `MOST_WAYS`. None but perhaps the first says not to print, none loses much more of the picture
        than the first, but for the paint that fewer colors cost, and any two of them differ to the eye.

    Raises
    ------
    ReliefsmithError
        If the first one cannot be made.
    """
    values = yield from job.steps(recipe, "mended")
    found = [Way("", {}, (yield from job.relief_steps(recipe)).result)]
    for kind, settings in _offered(found[0].result, values["mended"]):
        if len(found) == MOST_WAYS:
            break
        yield Progress("trying " + ", ".join(f"{key} = {toml_value(item)}" for key, item in settings.items()))
        try:
            changed = recipe.with_values(settings)
            result = yield from _made(job, changed, kind, [way.result for way in found])
        except ReliefsmithError:  # what does not go together is no way
            continue
        if result is not None:
            found.append(Way(kind, settings, result))
    order = ("", "base", "colors", "shape", "size", "style")
    return tuple(sorted(found, key=lambda way: order.index(way.kind)))


def way_file(output: str | None, artwork: Path, pick: int | None) -> Path:
    """Return where the page of ways, or the recipe of the one that is picked, is written.

    Raises
    ------
    OutputError
        If the name that was given ends in something else.

    Examples
    --------
    >>> way_file(None, Path("art/kite.png"), None).name, way_file(None, Path("art/kite.png"), 2).name
    ('kite-ways.html', 'kite-way-2.toml')
    """
    stem = stem_of(artwork)
    suffix, what = (".html", "the page of ways") if pick is None else (".toml", "the recipe of a way")
    if output is None:
        return Path(f"{stem}-ways{suffix}" if pick is None else f"{stem}-way-{pick}{suffix}")
    if Path(output).suffix.lower() != suffix:
        raise OutputError(f"{what} is written to a file that ends in {suffix}, not to {output or 'nothing'}")
    return Path(output)


def picked(ways: Sequence[Way], number: int) -> Way:
    """Return one of the ways by its number.

    Raises
    ------
    RecipeError
        If there is none of that number.
    """
    if not 1 <= number <= len(ways):
        there = "there is just way 1" if len(ways) == 1 else f"there are ways 1 to {len(ways)}"
        raise RecipeError(f"--pick asks for way {number}, but {there}; look at the page of ways")
    return ways[number - 1]


def _made(job: Job, recipe: Recipe, kind: str, before: Sequence[Result]) -> Steps[Result | None]:
    """Make a piece as far as it is worth it: None where it loses too much or looks like one before it."""
    values = yield from job.steps(recipe, "stacked")
    if _loses(values["compared"], before[0].fidelity, paint=kind != "colors"):
        return None
    if kind == "size" and not _shows_more(values, before[0]):
        return None
    if any(not _differ(values["stacked"], other.stack) for other in before):
        return None
    result = (yield from job.relief_steps(recipe)).result
    return result if result.printable else None


def _loses(fidelity: Fidelity | None, present: Fidelity | None, *, paint: bool) -> bool:
    if fidelity is None or present is None:
        return False
    lost = present.edges_kept - fidelity.edges_kept
    return max(lost, present.paint_right - fidelity.paint_right if paint else lost) > _MOST_LOSS


def _offered(present: Result, mended: Mended) -> Iterator[tuple[str, Settings]]:
    """Give what is worth trying: the first of each kind, then the second of each, and so on."""
    decided = {item.setting: [{item.setting: other} for other in item.others] for item in decisions(present)}
    kinds = {
        "base": decided["colors.base"],
        "colors": _fewer(present),
        "shape": _shapes(present),
        "size": _sizes(present, mended),
        "style": decided["heights.style"],
    }
    turns = zip_longest(*([(kind, item) for item in items] for kind, items in kinds.items()))
    tried = (pair for pair in chain.from_iterable(turns) if pair is not None)
    return (pair for _, pair in zip(range(_MOST_TRIED), tried, strict=False))


def _shapes(present: Result) -> list[Settings]:
    """Offer the outline, then plates, the tighter one of circle and rectangle first."""
    base = present.plan.base
    round_mm2 = math.pi * float(shapely.minimum_bounding_radius(base)) ** 2
    plates = ["circle", "rectangle"]
    if round_mm2 > _ROUND * float(shapely.envelope(base).area):
        plates.reverse()
    shapes = ("outline", *plates, "hull", "shield")
    return [{"base.shape": shape} for shape in shapes if shape != present.recipe.base.shape]


def _fewer(present: Result) -> list[Settings]:
    """Offer as many filaments as a machine holds, then one less than now, then two."""
    now = len({part.color for part in present.parts})
    fewer = dict.fromkeys(most for most in (_LOADED, now - 1, now - 2) if _FEWEST <= most < now)
    return [{"colors.most": most} for most in fewer]


def _sizes(present: Result, mended: Mended) -> list[Settings]:
    """Offer the size at which all lettering prints, then that at which all that is too fine does."""
    factors: list[float] = []
    if present.lettering.lost:
        factors.append(max(line.enough for line in present.lettering.lost))
    if mended.much:
        good = mended.good_width_mm
        factors += [good / present.plan.artwork_mm[0]] if good else _LARGER
    return [_sized(present, by) for by in dict.fromkeys(factors)]


def _sized(present: Result, by: float) -> Settings:
    """Return the setting that makes the artwork so many times as large, whatever the recipe measures."""
    plan = present.plan
    side, length = present.recipe.size.enlarged(plan.artwork_mm, plan.piece_mm, by)
    return {side: math.ceil(round(10 * length, 3)) / 10}


def _shows_more(values: Mapping[str, Any], present: Result) -> bool:
    """Tell whether another size is worth it: more letters print, less is repaired, or more is seen."""
    if len(values["lettering"].lost) < len(present.lettering.lost):
        return True
    if not values["mended"].much and any(item.code == "much-repaired" for item in present.findings):
        return True
    more, now = values["compared"], present.fidelity
    gain = more.edges_kept + more.paint_right - now.edges_kept - now.paint_right if more and now else 0.0
    return gain >= _LEAST_GAIN


def _differ(one: Stack, other: Stack) -> bool:
    """Tell whether two pieces look plainly different, or have other heights, over enough of their area."""
    slabs = [slab.polygon for slab in (*one.seen, *other.seen)]
    bounds = shapely.total_bounds(np.asarray(slabs, dtype=object)).tolist()
    view = View.around(bounds, _CELLS / max(bounds[2] - bounds[0], bounds[3] - bounds[1]))
    (labs, tops), (others, levels) = _from_above(one, view), _from_above(other, view)
    piece = (tops > 0) | (levels > 0)
    changed = np.abs(tops - levels)[piece] >= _STEP_MM
    changed |= ciede2000(labs[piece], others[piece]) >= PLAIN_DELTA_E
    return bool(changed.mean() >= _LEAST_SEEN)


def _from_above(stack: Stack, view: View) -> Seen:
    """Return color, CIELAB (h, w, 3), and height, mm (h, w), of what is seen; 0 where nothing is."""
    width, height = view.size_px
    labs, tops = np.zeros((height, width, 3)), np.zeros((height, width))
    for slab in sorted(stack.seen, key=lambda item: item.highest_mm):
        there = covering([slab.polygon], view) > 0
        labs[there] = srgb_to_lab(np.array(slab.color, dtype=np.uint8))
        tops[there] = slab.highest_mm
    return labs, tops
