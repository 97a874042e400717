"""The cheapest way to part a graph in two: as much as flows at most, and what is then still reached.

Dinic's algorithm: flow along shortest ways in rounds (Soviet Math. Doklady 11, 1277-1280, 1970; from memory).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

__all__ = ["reached_side"]


class _Graph:
    """Ways with what still passes along them; the way back of way k is way k ^ 1."""

    def __init__(self, count: int, edges: Sequence[tuple[int, int, int]]) -> None:
        self.ends: list[int] = []
        self.left: list[int] = []
        self.ways: list[list[int]] = [[] for _ in range(count)]
        for one, other, capacity in edges:
            self.ways[one].append(len(self.ends))
            self.ways[other].append(len(self.ends) + 1)
            self.ends += [other, one]
            self.left += [capacity, capacity]

    def levels(self, source: int) -> list[int]:
        """Return how many ways each node is from the source, -1 where it is not reached."""
        level = [-1] * len(self.ways)
        level[source] = 0
        waiting = deque([source])
        while waiting:
            node = waiting.popleft()
            for way in self.ways[node]:
                end = self.ends[way]
                if self.left[way] and level[end] < 0:
                    level[end] = level[node] + 1
                    waiting.append(end)
        return level

    def push(self, source: int, sink: int, level: list[int], turn: list[int]) -> bool:
        """Send what passes along one shortest way; False where none is left in this round."""
        path: list[int] = []
        node = source
        while node != sink:
            ways = self.ways[node]
            while turn[node] < len(ways):
                way = ways[turn[node]]
                if self.left[way] and level[self.ends[way]] == level[node] + 1:
                    break
                turn[node] += 1
            if turn[node] < len(ways):
                path.append(ways[turn[node]])
                node = self.ends[path[-1]]
            elif path:
                node = self.ends[path.pop() ^ 1]
                turn[node] += 1
            else:
                return False
        least = min(self.left[way] for way in path)
        for way in path:
            self.left[way] -= least
            self.left[way ^ 1] += least
        return True


def reached_side(count: int, edges: Sequence[tuple[int, int, int]], source: int, sink: int) -> list[bool]:
    """Return for each node whether it lies on the source's side of the cheapest cut nearest to the source.

    Parameters
    ----------
    count : int
        Number of nodes.
    edges : sequence of (int, int, int)
        Two nodes and what it costs to part them, both ways; whole numbers.
    source, sink : int

    Examples
    --------
    >>> reached_side(4, [(0, 1, 5), (1, 2, 2), (2, 3, 5)], 0, 3)
    [True, True, False, False]
    """
    graph = _Graph(count, edges)
    while (level := graph.levels(source))[sink] >= 0:
        turn = [0] * count
        while graph.push(source, sink, level, turn):
            pass
    return [depth >= 0 for depth in level]
