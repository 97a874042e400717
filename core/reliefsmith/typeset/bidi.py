"""The order of letters on a line: the Unicode bidirectional algorithm (UAX #9), over Python's `unicodedata`.

Rule names such as X5a, W4 or N0 are those of the annex, https://www.unicode.org/reports/tr9/. The classes of
characters are of the Unicode version that this Python has.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence

from .bidilevels import REMOVED, Embedding, embeddings, isolate_ends, paragraph_level

__all__ = ["bidi_classes", "closing_of", "levels_of", "visual_order"]

_NEUTRAL = {"B", "S", "WS", "ON", "FSI", "LRI", "RLI", "PDI"}
_STRONG = {"L": "L", "R": "R", "AL": "R", "EN": "R", "AN": "R"}

_STEPS = {("L", 1): 1, ("R", 0): 1, ("AN", 0): 2, ("EN", 0): 2, ("AN", 1): 1, ("EN", 1): 1}
"""By how much a class lies above an even or odd level (I1, I2)."""

_APART = {"[": "]", "{": "}", "［": "］", "｛": "｝", "⦍": "⦐", "⦏": "⦎"}
"""Brackets whose partner is not the next character."""

_MOST_OPEN = 63
"""Of more brackets open at once no pairs are looked for (BD16)."""


def bidi_classes(text: str) -> list[str]:
    """Return the bidirectional class of each character.

    Python has none for characters that are not assigned; they count as letters from left to right.

    Examples
    --------
    >>> bidi_classes("a1 ,")
    ['L', 'EN', 'WS', 'CS']
    """
    return [unicodedata.bidirectional(char) or "L" for char in text]


def levels_of(text: str, base: int | None = None) -> tuple[int, list[int | None]]:
    """Return the level of the paragraph and of each character: even from left to right, odd the other way.

    Parameters
    ----------
    text : str
        One paragraph, set on one line.
    base : int, optional
        Level of the paragraph; by its first strong letter unless given (P2, P3).

    Returns
    -------
    int, list of int or None
        None for characters that the algorithm takes out (X9).

    Examples
    --------
    >>> levels_of("ab \u05d0\u05d1")
    (0, [0, 0, 0, 1, 1])
    """
    classes = bidi_classes(text)
    ends = isolate_ends(classes)
    level = paragraph_level(classes, ends) if base is None else base
    explicit = embeddings(classes, ends, level)
    resolved: list[int | None] = [None if item is None else item.level for item in explicit]
    for sequence in _sequences(classes, explicit, ends):
        for index, found in zip(sequence, _resolved(text, classes, explicit, sequence, level), strict=True):
            resolved[index] = found
    return level, _with_separators(classes, resolved, level)


def visual_order(levels: Sequence[int | None]) -> list[int]:
    """Return the places of characters from left to right, those that are taken out left out (L2).

    Examples
    --------
    >>> visual_order([0, 1, 1, 0])
    [0, 2, 1, 3]
    """
    order = [index for index, level in enumerate(levels) if level is not None]
    own = [level for level in levels if level is not None]
    for turned in range(max(own, default=0), 0, -1):
        start = 0
        while start < len(order):
            end = start
            while end < len(order) and (levels[order[end]] or 0) >= turned:
                end += 1
            order[start:end] = order[start:end][::-1]
            start = end + 1
    return order


def _sequences(
    classes: Sequence[str], explicit: Sequence[Embedding | None], ends: dict[int, int]
) -> Iterator[list[int]]:
    """Yield the isolating run sequences: level runs, joined across the isolates between them (X10, BD13)."""
    runs: list[list[int]] = []
    kept = [(index, item) for index, item in enumerate(explicit) if item is not None]
    for place, (index, item) in enumerate(kept):
        if place == 0 or item.level != kept[place - 1][1].level:
            runs.append([])
        runs[-1].append(index)
    begins = {run[0]: run for run in runs}
    closing = set(ends.values())
    for run in runs:
        if run[0] in closing and classes[run[0]] == "PDI":
            continue
        sequence = list(run)
        while (last := sequence[-1]) in ends and ends[last] in begins:
            sequence += begins[ends[last]]
        yield sequence


def _resolved(
    text: str,
    classes: Sequence[str],
    explicit: Sequence[Embedding | None],
    sequence: Sequence[int],
    level: int,
) -> list[int]:
    """Return the levels of one isolating run sequence: rules W, N and I."""
    before, after = _beside(classes, explicit, sequence, level)
    mine = explicit[sequence[0]]
    assert mine is not None
    direction = "R" if mine.level % 2 else "L"
    start = "R" if max(mine.level, before) % 2 else "L"
    end = "R" if max(mine.level, after) % 2 else "L"
    types = [_type(classes, explicit, index) for index in sequence]
    given = [classes[index] for index in sequence]
    _weak(types, start)
    _brackets([text[index] for index in sequence], types, given, direction, start)
    _neutral(types, direction, start, end)
    odd = mine.level % 2
    return [mine.level + _STEPS.get((kind, odd), 0) for kind in types]


def _type(classes: Sequence[str], explicit: Sequence[Embedding | None], index: int) -> str:
    item = explicit[index]
    return item.override if item is not None and item.override else classes[index]


def _beside(
    classes: Sequence[str], explicit: Sequence[Embedding | None], sequence: Sequence[int], level: int
) -> tuple[int, int]:
    """Return the levels of what stands before and after a sequence; that of the paragraph at its ends."""
    before = next((item.level for item in explicit[sequence[0] - 1 :: -1] if item is not None), level)
    if sequence[0] == 0:
        before = level
    if classes[sequence[-1]] in ("LRI", "RLI", "FSI"):
        return before, level
    after = next((item.level for item in explicit[sequence[-1] + 1 :] if item is not None), level)
    return before, after


def _weak(types: list[str], start: str) -> None:
    """Resolve marks, numbers and what stands between and beside them (W1 to W7)."""
    before = start
    for place, kind in enumerate(types):  # W1
        if kind == "NSM":
            types[place] = "ON" if before in ("LRI", "RLI", "FSI", "PDI") else before
        before = types[place]
    _after(types, start, "AL", "AN")  # W2
    types[:] = ["R" if kind == "AL" else kind for kind in types]  # W3
    for place in range(1, len(types) - 1):  # W4
        left, kind, right = types[place - 1 : place + 2]
        if left == right and (left, kind) in (("EN", "ES"), ("EN", "CS"), ("AN", "CS")):
            types[place] = left
    for start_at, end_at in _stretches(types, {"ET"}):  # W5
        if "EN" in (types[start_at - 1 : start_at] + types[end_at : end_at + 1]):
            types[start_at:end_at] = ["EN"] * (end_at - start_at)
    types[:] = ["ON" if kind in ("ES", "ET", "CS") else kind for kind in types]  # W6
    _after(types, start, "L", "L")  # W7


def _after(types: list[str], start: str, strong: str, number: str) -> None:
    """Make European numbers another class where the last strong letter before them is of one kind."""
    last = start
    for place, kind in enumerate(types):
        if kind in ("L", "R", "AL"):
            last = kind
        if kind == "EN" and last == strong:
            types[place] = number


def _brackets(
    chars: Sequence[str], types: list[str], given: Sequence[str], direction: str, start: str
) -> None:
    """Give a pair of brackets the line's direction if that stands within, else that of what is before."""
    for opening, closing in _pairs(chars, types):
        within = {_STRONG[kind] for kind in types[opening + 1 : closing] if kind in _STRONG}
        if direction in within:
            found = direction
        elif within:
            found = next((_STRONG[kind] for kind in reversed(types[:opening]) if kind in _STRONG), start)
        else:
            continue
        for place in (opening, closing):
            types[place] = found
            for after in range(place + 1, len(types)):
                if given[after] != "NSM":
                    break
                types[after] = found


def _pairs(chars: Sequence[str], types: Sequence[str]) -> list[tuple[int, int]]:
    """Return the pairs of brackets, by their openings (BD16)."""
    stack: list[tuple[str, int]] = []
    found: list[tuple[int, int]] = []
    for place, (char, kind) in enumerate(zip(chars, types, strict=True)):
        partner = closing_of(char) if kind == "ON" else ""
        if partner:
            if len(stack) == _MOST_OPEN:
                return []
            stack.append((partner, place))
        elif kind == "ON" and (same := _same(char)) in (wanted := [item for item, _ in stack]):
            depth = len(wanted) - 1 - wanted[::-1].index(same)
            found.append((stack[depth][1], place))
            del stack[depth:]
    return sorted(found)


def closing_of(char: str) -> str:
    """Return the closing partner of an opening bracket, empty for every other character.

    Examples
    --------
    >>> closing_of("("), closing_of("x")
    (')', '')
    """
    if unicodedata.category(char) != "Ps" or not unicodedata.mirrored(char):
        return ""
    char = _same(char)
    return _APART.get(char) or chr(ord(char) + 1)


def _same(char: str) -> str:
    """Return the character that stands for all that are canonically equal to it."""
    return unicodedata.normalize("NFC", char)


def _neutral(types: list[str], direction: str, start: str, end: str) -> None:
    """Give what has no direction that of what stands on both sides, else that of the line (N1, N2)."""
    for begin, stop in _stretches(types, _NEUTRAL):
        before = _STRONG[types[begin - 1]] if begin else start
        after = _STRONG[types[stop]] if stop < len(types) else end
        types[begin:stop] = [before if before == after else direction] * (stop - begin)


def _stretches(types: Sequence[str], kinds: set[str]) -> list[tuple[int, int]]:
    """Return where stretches of some kinds begin and stop."""
    found: list[tuple[int, int]] = []
    for place, kind in enumerate(types):
        if kind not in kinds:
            continue
        if found and found[-1][1] == place:
            found[-1] = (found[-1][0], place + 1)
        else:
            found.append((place, place + 1))
    return found


def _with_separators(classes: Sequence[str], resolved: Sequence[int | None], level: int) -> list[int | None]:
    """Set separators, and spaces before them and at the end, to the level of the paragraph (L1)."""
    found = list(resolved)
    trailing = True
    for place in range(len(classes) - 1, -1, -1):
        kind = classes[place]
        if kind in ("B", "S"):
            trailing = True
        elif kind not in ("WS", "FSI", "LRI", "RLI", "PDI") and kind not in REMOVED:
            trailing = False
        if trailing and found[place] is not None:
            found[place] = level
    return found
