"""What the eye would miss on pieces as customers order them: `python tests/benchmarks/decisions.py`.

Makes ten pictures of each of fifteen kinds (customers.py) and runs `make` with no decision. Half of the
pictures, by lot, is held out: it is measured only with `--held-out`, and is not to be looked at before a
change is done. `--show FOLDER` keeps pictures and proofs that are poor; `--jobs` are made at a time.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from customers import KINDS, picture

import reliefsmith as rs
from reliefsmith.documents.proof.proof import proof_png

EACH = 10
ENOUGH_EDGES, ENOUGH_PAINT = 0.97, 0.95
TOLD = {"edges-lost", "color-wrong", "lettering-thin"}


@dataclass(frozen=True)
class Row:
    """What one picture came to."""

    kind: str
    number: int
    edges: float
    paint: float
    parts: int
    changes: int
    warned: int
    told: bool
    refused: str = ""

    @property
    def poor(self) -> bool:
        """Whether the eye would miss too much."""
        return self.edges < ENOUGH_EDGES or self.paint < ENOUGH_PAINT


def halves() -> tuple[list[tuple[str, int]], list[tuple[str, int]]]:
    """Return the pictures that may be looked at and those that are held out, half of each kind by lot."""
    seen, held = [], []
    for kind in KINDS:
        order = random.Random(f"held out {kind}").sample(range(EACH), EACH)
        seen += [(kind, number) for number in sorted(order[: EACH // 2])]
        held += [(kind, number) for number in sorted(order[EACH // 2 :])]
    return seen, held


def measured(kind: str, number: int, show: Path | None = None) -> Row:
    """Make one picture's relief and measure it; a refusal counts as nothing kept."""
    data = picture(kind, number)
    try:
        relief = rs.make(data)
    except rs.ReliefsmithError as error:
        return Row(kind, number, 0.0, 0.0, 0, 0, 0, True, str(error))
    seen = relief.result.fidelity
    assert seen is not None
    told = any(item.code in TOLD for item in relief.findings)
    warned = sum(item.severity is not rs.findings.Severity.NOTE for item in relief.findings)
    changes = relief.inspection.estimate.changes
    row = Row(kind, number, seen.edges_kept, seen.paint_right, len(relief.parts), changes, warned, told)
    if show is not None and row.poor:
        show.mkdir(parents=True, exist_ok=True)
        name = f"{kind}-{number}".replace(" ", "-")
        (show / f"{name}.png").write_bytes(data)
        (show / f"{name}-proof.png").write_bytes(proof_png(relief.result))
    return row


def table(rows: Iterable[Row]) -> str:
    """Return one line for each kind and one for all; silent are poor ones of which no finding tells."""
    rows = list(rows)
    lines = [
        "| kind | n | edges mean, worst | paint mean, worst | good | silent | parts | changes | warnings |"
    ]
    lines.append("|---|---|---|---|---|---|---|---|---|")
    for kind in [*KINDS, "all"]:
        own = [row for row in rows if kind in (row.kind, "all")]
        if not own:
            continue
        edges, paint = np.array([(row.edges, row.paint) for row in own]).T
        good = sum(not row.poor for row in own)
        silent = sum(row.poor and not row.told for row in own)
        means = [np.mean([getattr(row, name) for row in own]) for name in ("parts", "changes", "warned")]
        lines.append(
            f"| {kind} | {len(own)} | {edges.mean():.3f}, {edges.min():.2f} "
            f"| {paint.mean():.3f}, {paint.min():.2f} | {good} | {silent} | "
            + " | ".join(f"{mean:.1f}" for mean in means)
            + " |"
        )
    refused = [f"{row.kind} {row.number}: {row.refused}" for row in rows if row.refused]
    return "\n".join([*lines, *refused])


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--held-out", action="store_true", help="measure the half that is not looked at")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--each", type=int, default=EACH // 2, help="at most so many of each kind")
    parser.add_argument("--kind", choices=list(KINDS))
    parser.add_argument("--show", type=Path)
    parser.add_argument("--rows", action="store_true", help="print every picture as it is done")
    words = parser.parse_args()
    if words.held_out and words.show:
        parser.error("the held-out half is not shown")
    half = halves()[words.held_out]
    chosen = [item for kind in KINDS for item in [own for own in half if own[0] == kind][: words.each]]
    chosen = [item for item in chosen if words.kind in (None, item[0])]
    rows = []
    with ProcessPoolExecutor(words.jobs) as pool:
        for row in pool.map(measured, *zip(*chosen, strict=True), [words.show] * len(chosen)):
            rows.append(row)
            if words.rows:
                print(row, flush=True)
    print(table(rows))


if __name__ == "__main__":
    main()
