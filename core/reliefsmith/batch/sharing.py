"""What rows have in common: the stages whose values they share, the order they are made in, and who waits.

Rows share the value of a stage where the picture is the same and all settings that the stage depends on. The
first of them computes it for all, and the others are not begun before it has ended. Rows share no less than
is told here: the keys of the stages decide, which also know that two ways can lead to one value.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from ..recipe.audience import suited
from ..walk.stages import STAGES
from .rows import Row

__all__ = ["Queue", "Shared", "shared_by"]

_STAGES = frozenset(stage.name for stage in STAGES)


@dataclass(frozen=True, slots=True)
class Shared:
    """What a row shares with others.

    Parameters
    ----------
    values : tuple of int
        The values that it shares, by numbers of this batch, in the order of the stages.
    stages : frozenset of str
        Whose values they are.
    """

    values: tuple[int, ...] = ()
    stages: frozenset[str] = frozenset()

    @property
    def group(self) -> int | None:
        """The first shared value: rows that share anything share the read picture."""
        return self.values[0] if self.values else None


def shared_by(rows: Sequence[Row]) -> tuple[list[Row], Mapping[int, Shared]]:
    """Return rows in the order to make them in, those that share most side by side, and what each shares.

    Groups stand in the order of their first rows.
    """
    recipes = [suited(row.recipe) for row in rows]
    found: list[dict[str, int]] = [{} for _ in rows]  # of each row, its shared values by stage
    order: list[list[int]] = [[] for _ in rows]
    numbers = count()
    for stage in STAGES:
        keys: list[Hashable] = []
        for row, recipe, own in zip(rows, recipes, found, strict=True):
            taken = [_taken(name.partition(".")[0], row, own) for name in stage.takes]
            alone = any(one is None for one in taken)  # takes a value that no other row has
            settings = tuple(getattr(recipe, name) for name in stage.settings)
            keys.append(None if alone else (tuple(taken), settings))
        counts = Counter(key for key in keys if key is not None)
        firsts: dict[Hashable, tuple[int, int]] = {}  # number and first row of each shared value
        for at, key in enumerate(keys):
            if counts[key] < 2:
                order[at].append(at)
                continue
            if key not in firsts:
                firsts[key] = next(numbers), at
            found[at][stage.name], first = firsts[key]
            order[at].append(first)
    places = sorted(range(len(rows)), key=lambda at: (order[at], at))
    names: dict[frozenset[str], frozenset[str]] = {}  # few differ
    shared = {}
    for row, own in zip(rows, found, strict=True):
        stages = frozenset(own)
        shared[row.number] = Shared(tuple(own.values()), names.setdefault(stages, stages))
    return [rows[at] for at in places], shared


def _taken(name: str, row: Row, own: Mapping[str, int]) -> Hashable:
    """Return what stands for a value that a stage takes; None where no other row has it."""
    if name in _STAGES:
        return own.get(name)
    given = {"picture": str(row.picture), "hand": row.recipe.heights.hand}
    return given.get(name, "")  # all else that is given, settings of the stage name


class Queue:
    """Rows that wait to be begun, none before the values that it shares are known or nobody computes them."""

    def __init__(self, rows: Sequence[Row], shared: Mapping[int, Shared]) -> None:
        self._ready = deque(rows)
        self._shared = shared
        self._held: dict[int, deque[Row]] = {}  # by the value that they wait for
        self._computing: set[int] = set()
        self._known: set[int] = set()
        self._own: dict[int, list[int]] = {}  # what each row under way computes for others
        self._left = Counter(shared[row.number].group for row in rows)

    def next(self) -> Row | None:
        """Take a row that may be begun now, or None."""
        while self._ready:
            row = self._ready.popleft()
            values = self._shared[row.number].values
            awaited = next((value for value in values if value in self._computing), None)
            if awaited is None:
                self._own[row.number] = [value for value in values if value not in self._known]
                self._computing.update(self._own[row.number])
                return row
            self._held.setdefault(awaited, deque()).append(row)
        return None

    def ended(self, row: Row, *, known: bool) -> int | None:
        """Let those go on that waited for a row; the value is its group, if nobody needs its values any more.

        Parameters
        ----------
        row : Row
        known : bool
            Whether what it shares is known now; otherwise the next one computes it.
        """
        self._let_go(row, known=known)
        group = self._shared[row.number].group
        self._left[group] -= 1
        return group if self._left[group] == 0 else None

    def again(self, row: Row) -> None:
        """Put a row back that was begun in vain."""
        self._let_go(row, known=False)
        self._ready.appendleft(row)

    def _let_go(self, row: Row, *, known: bool) -> None:
        for value in self._own.pop(row.number):
            self._computing.discard(value)
            if known:
                self._known.add(value)
            self._ready.extendleft(reversed(self._held.pop(value, deque())))
