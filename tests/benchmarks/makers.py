"""Bases and enclosed ground as a careful maker chooses them: `python tests/benchmarks/makers.py`.

Open artworks by lot lie on white, black, off-white or pale ground, as PNG or JPEG. The maker knows what is
painted and what is transparent: of all bases (the art's colors, the ground's, white, near black), with
enclosed ground shown or open, the one is taken that keeps most edges, then most paint, then takes the fewest
parts. A piece that the program makes by itself is as the maker's where it loses at most 1 % more edges and
2 % more paint, and takes no more parts. Both are measured by the drawing's own alpha. `--show FOLDER` keeps
the others.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))

from openart import OpenArt, by_lot, drawn, placed
from reliefsmith import Job, Recipe, ReliefsmithError
from reliefsmith.checks.compare import compare
from reliefsmith.colorimetry import ciede2000, srgb_to_lab, to_hex
from reliefsmith.colorimetry.reference import CELL_MM, reference
from reliefsmith.colorimetry.words import parse_hex
from reliefsmith.documents.proof.proof import proof_png
from reliefsmith.model import Frame, Sample
from reliefsmith.polygons.cover import View
from reliefsmith.progress import drain

GROUNDS = {
    "white": "#ffffff",
    "black": "#000000",
    "off-white": "#f8f5ec",
    "pale blue": "#e1ecf6",
    "pale green": "#ecf4e2",
    "pale pink": "#fae6eb",
}
"""Each with less than C*ab 30."""
LONGEST_PX, MARGIN = 900, 0.06
PLAIN = 20.0
"""CIEDE2000 between two colors that nobody takes for one."""
EDGES, PAINT = 0.01, 0.02
"""Shares that a maker does not look for."""
FINE = 3
"""Points of the drawing along a cell."""


@dataclass(frozen=True)
class Piece:
    """What a choice comes to: settings, edges kept, paint right, parts."""

    settings: dict[str, str]
    edges: float
    paint: float
    parts: int


@dataclass(frozen=True)
class Row:
    """One artwork: the piece that the program makes by itself and the maker's."""

    name: str
    ground: str
    made: Piece
    maker: Piece
    refused: str = ""

    @property
    def as_maker(self) -> bool:
        return (
            self.made.edges >= self.maker.edges - EDGES
            and self.made.paint >= self.maker.paint - PAINT
            and 2 <= self.made.parts <= self.maker.parts
        )


def truth(art: Image.Image, ground: str, frame: Frame, artwork_mm: tuple[float, float]) -> Sample:
    """Return the drawing in cells of a plan's frame; what is transparent is outside."""
    half = (artwork_mm[0] / 2, artwork_mm[1] / 2)
    view = View.around((-half[0], -half[1], *half), 1 / CELL_MM, pad_mm=3.0)
    step = CELL_MM / (frame.mm_per_px * FINE)
    c, s = math.cos(math.radians(frame.turn_deg)), math.sin(math.radians(frame.turn_deg))
    left, top = view.left_mm / frame.mm_per_px, -view.top_mm / frame.mm_per_px
    x, y = (frame.origin_px[0] + c * left - s * top, frame.origin_px[1] + s * left + c * top)
    size = (view.size_px[0] * FINE, view.size_px[1] * FINE)
    cells = art.convert("RGBa").transform(
        size, Image.Transform.AFFINE, (step * c, -step * s, x, step * s, step * c, y)
    )
    cells = cells.reduce(FINE).convert("RGBA")
    paper = Image.new("RGBA", cells.size, ground)
    paper.alpha_composite(cells)
    outside = np.asarray(cells)[..., 3] < 128
    wanted = reference(np.asarray(paper)[..., :3], outside)
    return Sample(
        *(wanted.rgb, wanted.lab, wanted.outside, wanted.clear, wanted.first, wanted.second),
        *(view.left_mm, view.top_mm, CELL_MM),
    )


def choices(art: OpenArt, ground: str, *, encloses: bool) -> Iterator[dict[str, str]]:
    """Yield what a maker may set; ground that nothing encloses cannot be shown or open."""
    own = [to_hex(color) for color in art.colors]
    bases = dict.fromkeys([ground, *own, *(("#ffffff", "#1a1a1a") if len(own) == 1 else ())])
    for enclosed in ("auto", "remove") if encloses else ("auto",):
        yield from ({"colors.base": base, "background.enclosed": enclosed} for base in bases)


def best(pieces: list[Piece]) -> Piece:
    """Return the maker's choice: one that shows two colors, by edges, then paint, then parts."""
    pieces = [piece for piece in pieces if piece.parts >= 2] or pieces
    pieces = [piece for piece in pieces if piece.edges >= max(one.edges for one in pieces) - EDGES]
    pieces = [piece for piece in pieces if piece.paint >= max(one.paint for one in pieces) - PAINT]
    return min(pieces, key=lambda piece: (piece.parts, -piece.edges - piece.paint))


def measured(lot: tuple[OpenArt, str, int], show: Path | None) -> Row:
    """Make an artwork's piece without any setting, then as a maker would."""
    art, ground, quality = lot
    page, matrix = placed(art, LONGEST_PX, MARGIN)
    with tempfile.TemporaryDirectory() as work:
        path = Path(work, "art.jpg" if quality else "art.png")
        drawn(art, page, matrix, GROUNDS[ground]).save(path, **({"quality": quality} if quality else {}))
        job = Job(path)
        cut_out = drawn(art, page, matrix, None)

        def piece(settings: dict[str, str]) -> Piece:
            values = drain(job.steps(Recipe().with_values(settings), "hung"))
            plan = values["hung"]
            seen = compare(truth(cut_out, GROUNDS[ground], plan.frame, plan.artwork_mm), plan.above)
            assert seen is not None
            parts = 1 + sum(not motif.polygon.is_empty for motif in plan.above.motifs)
            return Piece(settings, seen.edges_kept, seen.paint_right, parts)

        try:
            made = piece({})
        except ReliefsmithError as error:
            none = Piece({}, 0.0, 0.0, 0)
            return Row(art.name, ground, none, none, str(error))
        others = []
        encloses = drain(job.steps(Recipe(), "marked"))["marked"].enclosed is not None
        for settings in choices(art, GROUNDS[ground], encloses=encloses):
            try:
                others.append(piece(settings))
            except ReliefsmithError:  # such as nothing left
                continue
        row = Row(f"{art.name} {path.suffix}", ground, made, best([made, *others]))
        if show is not None and not row.as_maker:
            show.mkdir(parents=True, exist_ok=True)
            name = f"{art.name}-{ground}".replace("/", "_").replace(" ", "-")
            (show / f"{name}{path.suffix}").write_bytes(path.read_bytes())
            for kind, settings in (("made", {}), ("maker", row.maker.settings)):
                relief = job.relief(Recipe().with_values(settings))
                (show / f"{name}-{kind}.png").write_bytes(proof_png(relief.result))
        return row


def lots(seed: int, count: int) -> list[tuple[OpenArt, str, int]]:
    """Draw artworks, each with a ground and the quality of a JPEG, 0 for PNG."""
    found: dict[str, OpenArt] = {}
    for again in range(seed, seed + 20):
        found |= {art.name: art for art in by_lot(again)}
        if len(found) >= count:
            break
    random, grounds = np.random.default_rng(seed), list(GROUNDS)
    names = random.permutation(sorted(found))[:count]
    qualities = random.integers(70, 93, len(names)) * random.integers(2, size=len(names))
    drawn_on = [grounds[at % len(grounds)] for at in range(len(names))]
    return [
        (found[name], ground, int(quality))
        for name, ground, quality in zip(names, drawn_on, qualities, strict=True)
        if shows(found[name], GROUNDS[ground])
    ]


def shows(art: OpenArt, ground: str) -> bool:
    """Tell whether an artwork stands out from its ground: one that does not is nobody's order."""
    labs = srgb_to_lab(np.array([*art.colors, parse_hex(ground)], dtype=np.uint8))
    return bool(ciede2000(labs[:-1], labs[-1]).max() >= PLAIN)


def table(rows: list[Row]) -> str:
    """Return one line for each ground and one for all."""
    lines = ["| ground | n | as the maker | edges mean, worst | paint mean, worst | parts (maker) |"]
    lines.append("|---|---|---|---|---|---|")
    for ground in [*GROUNDS, "all"]:
        own = [row for row in rows if ground in (row.ground, "all")]
        if own:
            edges, paint = np.array([(row.made.edges, row.made.paint) for row in own]).T
            parts = np.mean([(row.made.parts, row.maker.parts) for row in own], axis=0)
            lines.append(
                f"| {ground} | {len(own)} | {sum(row.as_maker for row in own) / len(own):.0%} "
                f"| {edges.mean():.3f}, {edges.min():.2f} | {paint.mean():.3f}, {paint.min():.2f} "
                f"| {parts[0]:.2f} ({parts[1]:.2f}) |"
            )
    return "\n".join([*lines, *(f"{row.name}: {row.refused}" for row in rows if row.refused)])


def main() -> None:
    """Print the table, and every artwork that is not as the maker's."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--show", type=Path)
    parser.add_argument("--rows", action="store_true", help="print every artwork, not just the others")
    words = parser.parse_args()
    rows = []
    with ProcessPoolExecutor(words.jobs) as pool:
        for row in pool.map(partial(measured, show=words.show), lots(words.seed, words.count)):
            rows.append(row)
            if words.rows or not row.as_maker:
                print(
                    "as" if row.as_maker else "not",
                    row.name,
                    row.ground,
                    row.made,
                    row.maker,
                    row.refused,
                    flush=True,
                )
    print(table(rows))


if __name__ == "__main__":
    main()
