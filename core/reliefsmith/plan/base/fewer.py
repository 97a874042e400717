"""No more colors than the maker can load: those beyond go into others, the least missed ones first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np
import shapely

from ...colorimetry import ciede2000, color_phrase, srgb_to_lab
from ...colorimetry.reference import TOLD_APART, Reference
from ...colorimetry.seen import edges_kept
from ...findings import Finding, finding
from ...model.arrays import Color, Ints
from ...polygons import polygons_of, union_of_faces
from ...recipe.sections import ColorSettings, FilamentSettings
from ..remarks import place_of
from .basecolor import BaseColor
from .ground import Art
from .legible import from_above
from .stocked import printed_in

__all__ = ["with_fewer"]

_NONE = FilamentSettings()


def with_fewer(
    picture: Art,
    base: shapely.Geometry,
    chosen: BaseColor,
    colors: ColorSettings,
    filaments: FilamentSettings = _NONE,
) -> tuple[Art, BaseColor, tuple[Finding, ...]]:
    """Fold colors into others until the piece, its base included, has no more than `colors.most`.

    Parameters
    ----------
    picture : Art
    base : Polygon or MultiPolygon
        Seen from above.
    chosen : BaseColor
    colors : ColorSettings
        A count or a palette says which colors the art has, so it stands above the limit; a base of a given
        color keeps it.
    filaments : FilamentSettings
        Where only stock is used, colors are judged by the filaments that they are printed in.

    Returns
    -------
    Art, BaseColor, tuple of Finding
        The picture in fewer colors, and a finding for each that went.

    Notes
    -----
    That fold is taken each time which loses least of what the eye would miss: of the picture's edges and, as
    colors that do not touch could all become one without losing an edge, of the area that is seen within
    CIEDE2000 10 of its color. Of equal ones the fold that changes least paint, by area and CIEDE2000.
    """
    every = [*picture.colors, chosen.color] if chosen.index is None else list(picture.colors)
    if colors.most == 0 or len(every) <= colors.most:
        return picture, chosen, ()
    if colors.count or colors.palette:
        words = f"colors.most = {colors.most} is not kept: colors.count or colors.palette say which colors"
        return picture, chosen, (finding("colors-many", f"{words} the art has, with the base {len(every)}."),)
    under = len(picture.colors) if chosen.index is None else chosen.index
    wanted, labels = from_above(picture, base)
    labels = np.where(labels > len(picture.colors), under + 1, labels)
    areas = [*(polygon.area for polygon in picture.polygons), 0.0][: len(every)]  # a base alone is no art
    folds = _Folds(wanted, labels, areas, every, printed_in(filaments, every))
    fixed = under if colors.base != "auto" else None
    said = []
    while len(np.unique(folds.into)) > colors.most:
        one, other, lost = folds.next(fixed)
        own = polygons_of(picture.polygons[one]) if one < len(picture.colors) else []
        place = place_of(max(own, key=lambda piece: piece.area)) if own else None
        said.append(_said(colors.most, every[one], every[other], lost, place))
    return (*_in_fewer(picture, chosen, every, folds.into, under), tuple(said))


class _Folds:
    """Which of the piece's colors (k) each of them is shown in, as one after the other is folded."""

    def __init__(
        self,
        wanted: Reference,
        labels: Ints,
        areas: Sequence[float],
        every: Sequence[Color],
        printed: Sequence[Color],
    ) -> None:
        self.wanted, self.labels, self.every = wanted, labels, every
        self.printed, self.into = np.array(printed, dtype=np.uint8), np.arange(len(every))
        self.shares = np.array(areas) / sum(areas)
        lab = srgb_to_lab(np.array(every, dtype=np.uint8))
        self.apart = ciede2000(lab[:, None], lab[None])
        self.off = ciede2000(lab[:, None], srgb_to_lab(self.printed)[None])
        self.kept = self._kept(self.into)

    def next(self, fixed: int | None) -> tuple[int, int, float]:
        """Fold one color, not the fixed one, into another; return both, and the share of edges lost."""
        tried = []
        for one, other in permutations(np.unique(self.into).tolist(), 2):
            if one != fixed:
                shown = np.where(self.into == one, other, self.into)
                wrong = float(self.shares[self.off[np.arange(len(shown)), shown] > TOLD_APART].sum())
                change = float((self.shares * self.apart[np.arange(len(shown)), shown]).sum())
                kept = self._kept(shown)
                pair = (self.every[one], self.every[other])
                tried.append((round(wrong - kept, 6), change, pair, kept, one, other))
        *_, kept, one, other = min(tried)
        self.into[self.into == one] = other
        lost, self.kept = self.kept - kept, kept
        return one, other, lost

    def _kept(self, shown: Ints) -> float:
        return edges_kept(self.wanted, self.labels, self.printed[shown])


def _in_fewer(
    picture: Art, chosen: BaseColor, every: Sequence[Color], into: Ints, under: int
) -> tuple[Art, BaseColor]:
    """Return the picture and its base after colors went into others."""
    members = {
        color: [index for index in np.flatnonzero(into == color) if index < len(picture.colors)]
        for color in np.unique(into).tolist()
    }
    shapes = {
        color: union_of_faces([picture.polygons[index] for index in own])
        for color, own in members.items()
        if own
    }
    alone = next((color for color, own in members.items() if own == [picture.enclosed]), None)
    stay = sorted(shapes, key=lambda color: (color != alone, -shapes[color].area, every[color]))
    base = int(into[under])
    fewer = replace(
        picture,
        polygons=tuple(shapes[color] for color in stay),
        colors=tuple(every[color] for color in stay),
        enclosed=None if alone is None else stay.index(alone),
    )
    return fewer, replace(chosen, color=every[base], index=stay.index(base) if base in stay else None)


def _said(most: int, one: Color, other: Color, lost: float, place: tuple[float, float] | None) -> Finding:
    edges = f"{100 * lost:.1f} % of the picture's edges are lost" if lost >= 0.0005 else "no edge is lost"
    words = f"colors.most = {most}: {color_phrase(one)} went into {color_phrase(other)}; {edges}."
    return finding("color-folded", words, None if place is None else (*place, 0.0))
