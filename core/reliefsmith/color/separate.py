"""Separate a picture into flat colors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..errors import ArtworkError
from ..findings import Finding, finding
from ..model.arrays import Color, Labels, Rgb
from ..model.artwork import Artwork, Separation
from ..progress import Progress, Steps, drained
from ..sections import BackgroundSettings, ColorSettings
from ..sections.limits import MOST_COLORS
from .background import Ground, ground_of
from .calm import noise_level
from .choose import Choice
from .enclosed import kept_enclosed
from .find import UNLABELED, Found, find_steps, mixing_colors
from .given import corrected
from .labels import Unexplained, edge_labels_steps
from .lines import Lines, with_lines
from .mixing import Mixing, mixing_planes
from .modes import Floats
from .patch import OpenPixels
from .soft import shades
from .speckle import collapsed_steps
from .specks import without_slivers, without_specks
from .strokes import with_strokes
from .thin import thin_color

__all__ = ["separate", "separate_steps"]

_MOST_THIN = 3  # colors that exist only in thin lines
_THIN_SEED_REACH = 20.0  # levels from such a color within which a pixel is sure to show it


def separate_steps(
    artwork: Artwork, *, background: BackgroundSettings, colors: ColorSettings
) -> Steps[Separation]:
    """Separate a picture into flat colors in small steps.

    Parameters
    ----------
    artwork : Artwork
    background : BackgroundSettings
    colors : ColorSettings

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
    sigma = noise_level(mixing)
    ground = ground_of(artwork, mixing, sigma, background)
    most = 0 if colors.palette else colors.count or MOST_COLORS
    found, lines = yield from _found_steps(artwork, mixing, ground, colors, (sigma, most))
    labels, found = yield from _labels_steps(ground, found, lines, (sigma, most), artwork.scale)
    yield Progress("cleaning specks", 0.8)
    drawn = labels
    labels = without_specks(labels, found.seeds != UNLABELED, lossy=found.lossy, scale=artwork.scale)
    if found.lossy and not found.shadow and len(found.mixing.planes) == 3:  # shadows leave patches
        known = mixing_colors(found.choice.shown, ground, 3)
        labels = with_strokes(drawn, labels, found.mixing, known, scale=artwork.scale)
    yield Progress("cleaning slivers", 0.85)
    labels = without_slivers(labels)
    labels, _ = yield from collapsed_steps(labels)
    yield Progress("judging enclosed background", 0.9)
    labels, palette = _with_enclosed(labels, _bytes(found.choice.colors), ground, _enclosed(background))
    shown = mixing_colors(found.choice.shown, ground, 3)
    if len(palette) + 1 > len(shown):  # enclosed background
        shown = np.concatenate([shown, shown[:1]])
    evened = None if found.mixing is mixing else _straight(found.mixing, artwork)
    return replace(_separation(labels, palette, shown, ground, colors), lossy=found.lossy, evened=evened)


separate = drained(separate_steps)


def _found_steps(
    artwork: Artwork, mixing: Mixing, ground: Ground, colors: ColorSettings, limits: tuple[float, int]
) -> Steps[tuple[Found, Lines | None]]:
    """Find the colors of areas, then those of lines in lossy pictures; limits are noise and most colors.

    Tints that compression left fill up a count only where areas and lines together do not reach it.
    """
    sigma, most = limits
    counts = (0, colors.count) if artwork.lossy and colors.count and not colors.palette else (colors.count,)
    for count in counts:
        found = yield from find_steps(artwork, mixing, ground, replace(colors, count=count), sigma)
        lines = None
        if found.lossy and len(mixing.planes) == 3 and artwork.scale <= 1.0:
            yield Progress("looking along lines", 0.5)
            found, lines = with_lines(found, ground, sigma=sigma, most=most)
        if len(found.choice.colors) == colors.count:
            break
    return found, lines


def _labels_steps(
    ground: Ground, found: Found, lines: Lines | None, limits: tuple[float, int], scale: float
) -> Steps[tuple[Labels, Found]]:
    """Label every pixel; colors that show only in thin lines of clean pictures are found on the way."""
    mixing = found.mixing
    depth = len(mixing.planes)
    sigma, most = limits
    for left in range(_MOST_THIN, -1, -1):
        known = mixing_colors(found.choice.shown, ground, depth)
        labels, rest = yield from edge_labels_steps(
            mixing,
            lines.marked(found.seeds) if lines else found.seeds,
            known,
            first=int(not ground.exists),
            lossy=found.lossy,
            scale=scale,
        )
        if left == 0 or len(found.choice.colors) >= most:
            break
        seen = known if ground.exists else known[1:]
        color = thin_color(OpenPixels(rest, seen, mixing.shape[1], found.art_px, sigma, found.lossy))
        if color is None or (found.shadow and _is_shade(color, ground)):
            break
        found = _with_thin(found, color, rest)
    return labels, found


def _straight(mixing: Mixing, artwork: Artwork) -> Rgb:
    """Return the picture of changed planes, in straight color as it was read."""
    rgb = np.stack(mixing.planes[:3], axis=-1)
    if len(mixing.planes) == 4:
        opacity = np.maximum(artwork.alpha, np.float32(1 / 255))[..., None]
        rgb = np.minimum(rgb / opacity + np.float32(0.5), np.float32(255)).astype(np.uint8)
    return rgb


def _is_shade(color: Floats, ground: Ground) -> bool:
    return ground.color is not None and bool(shades(color[None, :3], ground.color)[0])


def _with_thin(found: Found, color: Floats, rest: Unexplained) -> Found:
    choice = found.choice
    seeds = found.seeds.copy()
    offset = rest.values - color.astype(np.float32)
    sure = (offset * offset).sum(axis=1) <= _THIN_SEED_REACH**2
    seeds.ravel()[rest.positions[sure]] = len(choice.colors) + 1
    more = color[None, :3]
    wider = Choice(
        np.concatenate([choice.colors, more]), np.concatenate([choice.shown, more]), choice.of_cluster
    )
    return replace(found, choice=wider, seeds=seeds)


def _bytes(colors: Floats) -> npt.NDArray[np.uint8]:
    return np.floor(np.clip(colors, 0.0, 255.0) + 0.5).astype(np.uint8)


def _enclosed(background: BackgroundSettings) -> str:
    """Return the rule for enclosed background; a color that the user picked is background everywhere."""
    picked = background.color != "auto" and background.enclosed == "auto"
    return "remove" if picked else background.enclosed


def _with_enclosed(
    labels: Labels, palette: npt.NDArray[np.uint8], ground: Ground, mode: str
) -> tuple[Labels, npt.NDArray[np.uint8]]:
    """Add the background's color to the palette where enclosed background is a color of the art."""
    if ground.color is None:
        return labels, palette
    kept = kept_enclosed(labels, mode)
    if len(kept) == 0:
        return labels, palette
    palette = np.concatenate([palette, _bytes(ground.color)[None]])
    labels = labels.copy()
    labels.ravel()[kept] = len(palette)
    return labels, palette


def _separation(
    labels: Labels, palette: npt.NDArray[np.uint8], shown: Floats, ground: Ground, settings: ColorSettings
) -> Separation:
    """Apply the user's corrections and order the colors by falling share."""
    palette, table, findings = corrected(palette, settings)
    pixels = [np.count_nonzero(labels == label) for label in range(len(table))]
    counts = np.bincount(table, weights=pixels, minlength=len(palette) + 1)[1:].astype(np.int64)
    order = np.argsort(-counts, kind="stable")
    order = order[counts[order] > 0]
    if len(order) == 0:
        raise ArtworkError("nothing is left after the background is removed; the picture looks blank")
    # A label that others were merged into shows the color of most of its pixels.
    main = [int(np.argmax(np.where(table == number + 1, pixels, -1))) for number in order]
    rank = np.zeros(len(palette) + 1, dtype=np.uint8)
    rank[order + 1] = np.arange(1, len(order) + 1)
    return Separation(
        np.take(rank[table], labels),
        palette[order],
        None if ground.frame is None else _color(ground.frame),
        counts[order] / counts[order].sum(),
        (*_fewer(len(order), settings), *findings),
        shown[[0, *main]],
    )


def _color(color: Floats) -> Color:
    red, green, blue = (int(value) for value in _bytes(color))
    return red, green, blue


def _fewer(found: int, settings: ColorSettings) -> tuple[Finding, ...]:
    asked = settings.count or len(settings.palette)
    if found >= asked:
        return ()
    words = f"{found} flat color{'s were' if found > 1 else ' was'} found where {asked} were asked for"
    return (finding("colors-fewer", words),)
