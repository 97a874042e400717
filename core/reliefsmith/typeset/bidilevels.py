"""Explicit levels of the bidirectional algorithm: embeddings, overrides and isolates (UAX #9, P2 to X9)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["REMOVED", "Embedding", "embeddings", "isolate_ends", "paragraph_level"]

REMOVED = {"RLE", "LRE", "RLO", "LRO", "PDF", "BN"}
"""Classes that the algorithm takes out of the text (X9)."""

_ISOLATES = {"LRI", "RLI", "FSI"}
_DEEPEST = 125


@dataclass(frozen=True, slots=True)
class Embedding:
    """Level of a character, and the class that an override gives it, or an empty string."""

    level: int
    override: str = ""


def isolate_ends(classes: Sequence[str]) -> dict[int, int]:
    """Return the place of the matching PDI of each isolate that has one (BD9)."""
    open_at: list[int] = []
    found: dict[int, int] = {}
    for place, kind in enumerate(classes):
        if kind in _ISOLATES:
            open_at.append(place)
        elif kind == "PDI" and open_at:
            found[open_at.pop()] = place
    return found


def paragraph_level(classes: Sequence[str], ends: dict[int, int], first: int = 0, last: int | None = None) -> int:
    """Return 1 if the first strong letter, isolates passed over, is read from the right, else 0 (P2, P3)."""
    last = len(classes) if last is None else last
    place = first
    while place < last:
        kind = classes[place]
        if kind in ("L", "R", "AL"):
            return int(kind != "L")
        if kind in _ISOLATES:
            place = ends.get(place, last)
        place += 1
    return 0


def embeddings(classes: Sequence[str], ends: dict[int, int], level: int) -> list[Embedding | None]:
    """Return the explicit level of each character, None for those that are taken out (X1 to X9)."""
    stack = [(Embedding(level), False)]
    over_isolate = over_embedding = valid_isolates = 0
    found: list[Embedding | None] = []
    for place, kind in enumerate(classes):
        top = stack[-1][0]
        if kind in _ISOLATES:
            found.append(top)
            if kind == "FSI":
                last = ends.get(place, len(classes))
                kind = "RLI" if paragraph_level(classes, ends, place + 1, last) else "LRI"  # noqa: PLW2901
            new = _next_level(top.level, odd=kind == "RLI")
            if new <= _DEEPEST and not over_isolate and not over_embedding:
                valid_isolates += 1
                stack.append((Embedding(new), True))
            else:
                over_isolate += 1
        elif kind == "PDI":
            if over_isolate:
                over_isolate -= 1
            elif valid_isolates:
                over_embedding = 0
                while not stack[-1][1]:
                    stack.pop()
                stack.pop()
                valid_isolates -= 1
            found.append(stack[-1][0])
        elif kind in ("RLE", "LRE", "RLO", "LRO"):
            found.append(None)
            new = _next_level(top.level, odd=kind[0] == "R")
            if new <= _DEEPEST and not over_isolate and not over_embedding:
                stack.append((Embedding(new, kind[0] if kind[2] == "O" else ""), False))
            elif not over_isolate:
                over_embedding += 1
        elif kind == "PDF":
            found.append(None)
            if not over_isolate:
                if over_embedding:
                    over_embedding -= 1
                elif not stack[-1][1] and len(stack) > 1:
                    stack.pop()
        elif kind == "B":
            found.append(Embedding(level))
        else:
            found.append(None if kind == "BN" else top)
    return found


def _next_level(level: int, *, odd: bool) -> int:
    """Return the least level above one that is odd, or even."""
    return level + 1 + (level % 2 if odd else (level + 1) % 2)
