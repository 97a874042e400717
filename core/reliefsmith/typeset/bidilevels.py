"""Explicit levels of the bidirectional algorithm: embeddings, overrides and isolates (UAX #9, P2 to X9)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["REMOVED", "Embedding", "embeddings", "isolate_ends", "paragraph_level"]

REMOVED = {"RLE", "LRE", "RLO", "LRO", "PDF", "BN"}
"""Classes that the algorithm takes out of the text (X9)."""

_ISOLATES = {"LRI", "RLI", "FSI"}
_DEEPEST = 125
"""The highest explicit level (`max_depth`, BD2)."""


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


def paragraph_level(
    classes: Sequence[str], ends: dict[int, int], first: int = 0, last: int | None = None
) -> int:
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
    stack = _Stack(level)
    found: list[Embedding | None] = []
    for place, own in enumerate(classes):
        kind = own
        if kind == "FSI":
            last = ends.get(place, len(classes))
            kind = "RLI" if paragraph_level(classes, ends, place + 1, last) else "LRI"
        if kind == "PDI":
            stack.end_isolate()
        found.append(None if kind in REMOVED else Embedding(level) if kind == "B" else stack.top)
        if kind in _ISOLATES:
            stack.isolate(odd=kind == "RLI")
        elif kind in ("RLE", "LRE", "RLO", "LRO"):
            stack.embed(kind)
        elif kind == "PDF":
            stack.end_embedding()
    return found


class _Stack:
    """The stack of directional statuses, with the counts of what was too deep (X1)."""

    def __init__(self, level: int) -> None:
        self._entries = [(Embedding(level), False)]
        self._isolates = self._deep_isolates = self._deep_embeddings = 0

    @property
    def top(self) -> Embedding:
        """The status of the characters that come."""
        return self._entries[-1][0]

    def isolate(self, *, odd: bool) -> None:
        """Begin an isolate (X5a, X5b)."""
        if self._push(Embedding(self._above(odd=odd)), is_isolate=True):
            self._isolates += 1
        else:
            self._deep_isolates += 1

    def embed(self, kind: str) -> None:
        """Begin an embedding or override (X2 to X5)."""
        status = Embedding(self._above(odd=kind[0] == "R"), kind[0] if kind[2] == "O" else "")
        if not self._push(status, is_isolate=False) and not self._deep_isolates:
            self._deep_embeddings += 1

    def end_isolate(self) -> None:
        """End an isolate and all embeddings in it (X6a)."""
        if self._deep_isolates:
            self._deep_isolates -= 1
        elif self._isolates:
            self._deep_embeddings = 0
            while not self._entries.pop()[1]:
                pass
            self._isolates -= 1

    def end_embedding(self) -> None:
        """End an embedding or override (X7)."""
        if self._deep_isolates:
            return
        if self._deep_embeddings:
            self._deep_embeddings -= 1
        elif len(self._entries) > 1 and not self._entries[-1][1]:
            self._entries.pop()

    def _push(self, status: Embedding, *, is_isolate: bool) -> bool:
        fits = status.level <= _DEEPEST and not self._deep_isolates and not self._deep_embeddings
        if fits:
            self._entries.append((status, is_isolate))
        return fits

    def _above(self, *, odd: bool) -> int:
        """Return the least level above the present one that is odd, or even."""
        level = self.top.level
        return level + 1 + (level % 2 if odd else (level + 1) % 2)
