"""Colors that the user gives: a palette, merges and omissions."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, parse_hex, srgb_to_lab
from ..findings import Finding, finding
from ..model.arrays import Palette
from ..recipe.sections import ColorSettings
from .modes import Clusters, Floats
from .palette import Choice

__all__ = ["corrected", "palette_choice"]

_MATCH = 12.0  # dE00 within which a color that the user names is one of the picture's


def palette_choice(clusters: Clusters, palette: tuple[str, ...], background: Floats | None) -> Choice:
    """Give each mode the nearest of the given colors by CIEDE2000; the background competes with them.

    Given colors that no mode is nearest to stay without pixels.
    """
    given = np.array([parse_hex(text) for text in palette], dtype=np.float64)
    rivals = given if background is None else np.concatenate([given, background[None]])
    gaps = ciede2000(srgb_to_lab(clusters.colors)[:, None], srgb_to_lab(rivals)[None])
    nearest = gaps.argmin(axis=1) if len(gaps) else np.zeros(0, dtype=np.int64)
    of_cluster = np.where(nearest == len(given), -1, nearest)
    shown = given.copy()
    for number in range(len(given)):  # at most eight
        own = np.flatnonzero(of_cluster == number)
        if len(own):
            shown[number] = clusters.colors[own[np.argmax(clusters.weights[own])]]
    return Choice(given, shown, of_cluster)


def corrected(
    colors: Palette, settings: ColorSettings
) -> tuple[Palette, npt.NDArray[np.uint8], tuple[Finding, ...]]:
    """Apply merges and omissions to the colors that were found.

    Returns
    -------
    colors : uint8 array of shape (k, 3)
        As given, where a merge renames a color.
    table : uint8 array of shape (k + 1,)
        New label of each label, the background included; an omitted color becomes background.
    findings : tuple of Finding
        One for each color of the settings that is none of the picture's.
    """
    colors = colors.copy()
    table = np.arange(len(colors) + 1, dtype=np.uint8)
    labs = srgb_to_lab(colors)
    findings: list[Finding] = []
    for source, target in settings.merge:
        found, goal = _nearest(labs, source), _nearest(labs, target)
        if found is None:
            findings.append(_unmatched("merge", source))
        elif goal is None or goal == found:
            colors[found] = parse_hex(target)
        else:
            table[table == table[found + 1]] = table[goal + 1]
    for text in settings.omit:
        found = _nearest(labs, text)
        if found is None:
            findings.append(_unmatched("omit", text))
        else:
            table[table == table[found + 1]] = 0
    return colors, table, tuple(findings)


def _nearest(labs: Floats, text: str) -> int | None:
    gaps = ciede2000(labs, srgb_to_lab(np.array(parse_hex(text))))
    nearest = int(np.argmin(gaps)) if len(gaps) else 0
    return nearest if len(gaps) and gaps[nearest] < _MATCH else None


def _unmatched(setting: str, text: str) -> Finding:
    return finding("color-unmatched", f"colors.{setting} names {text}, which is none of the colors found")
