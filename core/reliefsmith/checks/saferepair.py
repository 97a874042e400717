"""What a safe repair does to parts that are no closed solids: offered, or done and said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..findings import Finding, finding
from ..mesh import Mending, mended, mesh_faults
from ..model import Part

__all__ = ["repaired"]


def repaired(parts: Sequence[Part], *, is_asked: bool) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Return the parts, repaired where that is asked for and needed, and what was or would be done.

    Examples
    --------
    >>> repaired([], is_asked=True)
    ((), ())
    """
    kept, found = [], []
    for part in parts:
        faults = mesh_faults(part.vertices, part.triangles)
        if faults.sound:
            kept.append(part)
            continue
        vertices, triangles, done = mended(part.vertices, part.triangles)
        after = mesh_faults(vertices, triangles)
        if is_asked and done.did:
            kept.append(replace(part, vertices=vertices, triangles=triangles))
            words = f"{part.name} was repaired: {_done(done)}. {_left(done, closed=after.closed)}"
            found.append(finding("repaired", words))
        else:
            kept.append(part)
            way = f"--repair would do this to {part.name}: {_done(done)}. {_left(done, closed=after.closed)}"
            words = way if done.did else f"{part.name} has nothing that a safe repair mends; remesh it."
            found.append(finding("repair-offered", words))
    return tuple(kept), tuple(found)


def _done(done: Mending) -> str:
    counts = (
        (done.merged, "equal points merged"),
        (done.dropped, "empty or doubled triangles dropped"),
        (done.turned, "triangles turned round"),
        (done.filled, "tiny holes filled"),
    )
    return ", ".join(f"{count} {what}" for count, what in counts if count)


def _left(done: Mending, *, closed: bool) -> str:
    if closed:
        return "Then it is closed."
    holes = ", ".join(f"{size:.1f} mm" for size in done.left_mm[-3:] if size)
    return f"Still open{': holes of ' + holes if holes else ''}; close it by hand or remesh it."
