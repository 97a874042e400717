"""Separate a picture into flat colors."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, parse_hex, srgb_to_lab
from ..colorimetry.window import local_range
from ..errors import ArtworkError
from ..findings import Finding, finding
from ..model.arrays import Color, Labels, Palette, Rgb
from ..model.artwork import Artwork, Separation
from ..progress import Progress, Steps, drained
from ..recipe.sections import BackgroundSettings, ColorSettings
from ..recipe.sections.limits import MOST_COLORS
from .background import PICK_REACH, Ground, ground_of
from .capture import Capture, captured
from .cost import Judge
from .find import Found, find_steps, mixing_colors
from .groundlike import enclosed_ground, with_pale_areas, without_ground_specks
from .hidden import hidden_color, with_color, with_lines
from .labels import edge_labels_steps
from .mixing import Mixing, mixing_planes
from .modes import Floats
from .patches import collapsed_steps, without_cheap_patches

__all__ = ["corrected", "separate", "separate_steps"]


def separate_steps(
    artwork: Artwork, *, background: BackgroundSettings, flat_colors: ColorSettings
) -> Steps[Separation]:
    """Separate a picture into flat colors in small steps.

    Parameters
    ----------
    artwork : Artwork
    background : BackgroundSettings
    flat_colors : ColorSettings

    Returns
    -------
    Separation

    Raises
    ------
    ArtworkError
        If nothing but background is left.
    """
    yield Progress("looking for the background", 0.0)
    mixing = mixing_planes(artwork)
    capture = captured(artwork, mixing, local_range(mixing.planes))
    ground = ground_of(artwork, mixing, capture.sigma, background)
    most = 0 if flat_colors.palette else flat_colors.count or MOST_COLORS
    found = yield from _found_steps(artwork, mixing, capture, ground, flat_colors, most=most)
    labels, found = yield from _labels_steps(ground, found, most)
    yield Progress("cleaning specks", 0.8)
    judge = Judge(mixing_colors(found.choice.shown, ground, len(found.mixing.planes)), found.capture)
    labels = without_cheap_patches(labels, found.seeds, found.mixing, judge)
    labels = yield from collapsed_steps(labels)
    yield Progress("looking for enclosed ground", 0.9)
    shown = mixing_colors(found.choice.shown, ground)
    if ground.color is not None:
        labels = with_pale_areas(without_ground_specks(labels), shown, mixing)
    flat = _Flat(labels, _bytes(found.choice.colors), shown)
    flat = _with_enclosed(flat, ground, background.enclosed)
    evened = None if found.mixing is mixing else _straight(found.mixing, artwork)
    separation = _separation(flat, ground, flat_colors)
    return replace(separation, lossy=found.capture.lossy, evened=evened, notes=found.notes)


separate = drained(separate_steps)


def _found_steps(
    artwork: Artwork, mixing: Mixing, capture: Capture, ground: Ground, colors: ColorSettings, *, most: int
) -> Steps[Found]:
    """Find the colors of areas, then those of lines in lossy pictures.

    Tints that compression left fill up a count only where areas and lines together do not reach it.
    """
    counts = (0, colors.count) if artwork.lossy and colors.count and not colors.palette else (colors.count,)
    for count in counts:
        found = yield from find_steps(artwork, mixing, capture, ground, replace(colors, count=count))
        if found.capture.lossy and mixing.opaque is None and artwork.scale <= 1.0:
            yield Progress("looking along lines", 0.5)
            found = with_lines(found, ground, most)
        if len(found.choice.colors) == colors.count:
            break
    return found


def _labels_steps(ground: Ground, found: Found, most: int) -> Steps[tuple[Labels, Found]]:
    """Label every pixel; colors that are never calm are found on the way."""
    while True:
        known = mixing_colors(found.choice.shown, ground, len(found.mixing.planes))
        labels, rest = yield from edge_labels_steps(
            found.mixing, found.marks, known, int(not ground.exists), found.capture
        )
        color = hidden_color(found, ground, rest) if len(found.choice.colors) < most else None
        if color is None:
            return labels, found
        found = with_color(found, color)


def _straight(mixing: Mixing, artwork: Artwork) -> Rgb:
    """Return the picture of changed planes, in straight color as it was read."""
    rgb = np.stack(mixing.planes[:3], axis=-1)
    if mixing.opaque is not None:
        opacity = np.maximum(artwork.alpha, np.float32(1 / 255))[..., None]
        rgb = np.minimum(rgb / opacity + np.float32(0.5), np.float32(255)).astype(np.uint8)
    return rgb


def _bytes(colors: Floats) -> npt.NDArray[np.uint8]:
    return np.floor(np.clip(colors, 0.0, 255.0) + 0.5).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class _Flat:
    """Labels, the palette of labels 1 to k, and what labels 0 to k show; the last may be enclosed ground."""

    labels: Labels
    palette: npt.NDArray[np.uint8]
    shown: Floats
    enclosed: int | None = None


def _with_enclosed(flat: _Flat, ground: Ground, mode: str) -> _Flat:
    """Give enclosed ground a label of its own."""
    if ground.color is None:
        return flat
    at = enclosed_ground(flat.labels, mode)
    if len(at) == 0:
        return flat
    palette = np.concatenate([flat.palette, _bytes(ground.color)[None]])
    labels = flat.labels.copy()
    labels.ravel()[at] = len(palette)
    return _Flat(labels, palette, np.concatenate([flat.shown, flat.shown[:1]]), len(palette) - 1)


def _separation(flat: _Flat, ground: Ground, settings: ColorSettings) -> Separation:
    """Apply the user's corrections and order the colors by falling share.

    Enclosed ground comes first: where areas meet like a chessboard, later colors stay connected.
    """
    labels, shown = flat.labels, flat.shown
    palette, table, findings = corrected(flat.palette, settings)
    pixels = [np.count_nonzero(labels == label) for label in range(len(table))]
    counts = np.bincount(table, weights=pixels, minlength=len(palette) + 1)[1:].astype(np.int64)
    is_art = np.arange(len(palette)) != flat.enclosed
    order = np.lexsort((-counts, is_art))
    order = order[counts[order] > 0]
    found = int(is_art[order].sum())
    if found == 0 or (ground.is_field and len(flat.palette) == 1):
        raise ArtworkError(
            "nothing is left after the background is removed; the picture looks blank: give one whose art"
            " differs from its background, or set background.mode = none to print all of it"
        )
    asked = settings.count or len(settings.palette)
    if found < asked:
        words = f"{found} flat color{'s were' if found > 1 else ' was'} found where {asked} were asked for"
        findings = (finding("colors-fewer", words), *findings)
    # A label that others were merged into shows the color of most of its pixels.
    main = [int(np.argmax(np.where(table == number + 1, pixels, -1))) for number in order]
    rank = np.zeros(len(palette) + 1, dtype=np.uint8)
    rank[order + 1] = np.arange(1, len(order) + 1)
    return Separation(
        np.take(rank[table], labels),
        palette[order],
        None if ground.color is None else _color(ground.color),
        counts[order] / counts[order].sum(),
        findings,
        shown[[0, *main]],
        enclosed=0 if found < len(order) else None,
    )


def _color(color: Floats) -> Color:
    red, green, blue = (int(value) for value in _bytes(color))
    return red, green, blue


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

    def meant(setting: str, text: str) -> int | None:
        place = _nearest(labs, text)
        if place is None:
            words = f"colors.{setting} names {text}, which is none of the colors found"
            findings.append(finding("color-unmatched", words))
        return place

    for source, target in settings.merge:
        found, goal = meant("merge", source), _nearest(labs, target)
        if found is not None and (goal is None or goal == found):
            colors[found] = parse_hex(target)
        elif found is not None and goal is not None:
            table[table == table[found + 1]] = table[goal + 1]
    for text in settings.omit:
        found = meant("omit", text)
        if found is not None:
            table[table == table[found + 1]] = 0
    return colors, table, tuple(findings)


def _nearest(labs: Floats, text: str) -> int | None:
    gaps = ciede2000(labs, srgb_to_lab(np.array(parse_hex(text))))
    return int(np.argmin(gaps)) if gaps.min(initial=np.inf) < PICK_REACH else None
