"""Explicit levels by hand, by the rules of UAX #9, https://www.unicode.org/reports/tr9/."""

from __future__ import annotations

import pytest

from reliefsmith.typeset.bidilevels import Embedding, embeddings, isolate_ends, paragraph_level

DEEPEST = 125  # max_depth, BD2


def _levels(words: str, level: int = 0) -> list[int | None]:
    classes = words.split()
    found = embeddings(classes, isolate_ends(classes), level)
    assert len(found) == len(classes)
    return [None if one is None else one.level for one in found]


def test_an_isolate_ends_at_its_own_sign_and_some_never() -> None:
    assert isolate_ends(["RLI", "LRI", "PDI", "PDI", "PDI", "FSI", "L"]) == {1: 2, 0: 3}
    assert isolate_ends(["RLE", "PDF", "PDI", "LRI"]) == {}


@pytest.mark.parametrize(
    ("words", "level"),
    [
        ("EN ON AL L", 1),
        ("L R", 0),
        ("WS EN", 0),
        ("RLI R PDI L", 0),
        ("LRI L PDI R", 1),
        ("RLE L", 0),
        ("LRI R", 0),
        ("FSI R LRI L PDI R PDI AL", 1),
    ],
)  # fmt: skip
def test_the_first_strong_letter_outside_isolates_says_how_a_paragraph_runs(words: str, level: int) -> None:
    """P2 and P3; an isolate without end lasts to the end of the paragraph."""
    classes = words.split()
    assert paragraph_level(classes, isolate_ends(classes)) == level


def test_only_the_asked_stretch_counts() -> None:
    assert paragraph_level(["L", "R", "L"], {}, first=1) == 1
    assert paragraph_level(["ON", "R"], {}, last=1) == 0


@pytest.mark.parametrize(
    ("words", "level", "levels"),
    [
        ("L RLE R PDF L", 0, [0, None, 1, None, 0]),
        ("RLE LRE RLE R PDF R", 0, [None, None, None, 3, None, 2]),
        ("LRE L PDF R", 1, [None, 2, None, 1]),
        ("RLE R PDF R", 1, [None, 3, None, 1]),
        ("L RLI R PDI L", 0, [0, 0, 1, 0, 0]),
        ("FSI R PDI FSI L PDI FSI ON", 0, [0, 1, 0, 0, 2, 0, 0, 2]),
        ("RLI LRE L PDI L", 0, [0, None, 2, 0, 0]),
        ("RLI PDF R PDI PDF L", 0, [0, None, 1, 0, None, 0]),
        ("RLE R PDI R B R", 0, [None, 1, 1, 1, 0, 1]),
        ("L BN PDF PDI L", 0, [0, None, None, 0, 0]),
    ],
)
def test_levels_rise_to_the_next_odd_or_even_and_fall_back(
    words: str, level: int, levels: list[int | None]
) -> None:
    """X2 to X9: what ends an isolate ends all embeddings in it, and what ends an embedding no isolate."""
    assert _levels(words, level) == levels


def test_an_override_names_the_class_of_all_it_holds_but_not_in_isolates() -> None:
    classes = ["RLO", "EN", "LRI", "L", "PDI", "PDF", "L", "LRO", "R"]
    found = embeddings(classes, isolate_ends(classes), 0)
    assert found[1] == found[2] == found[4] == Embedding(1, "R")
    assert found[3] == Embedding(2)
    assert found[6] == Embedding(0)
    assert found[8] == Embedding(2, "L")


@pytest.mark.parametrize(("begin", "end"), [("RLE", "PDF"), ("RLI", "PDI")])
def test_what_is_too_deep_is_counted_and_ended_without_a_level(begin: str, end: str) -> None:
    """From 0 on, 63 steps lead to odd levels up to 125; seven more change nothing, nor do their ends."""
    found = _levels(" ".join([begin] * 70 + ["L"] + [end] * 7 + ["L", end, "L"] + [end] * 62 + ["L"]))
    letters = [found[at] for at in (70, 78, 80, 143)]
    assert letters == [DEEPEST, DEEPEST, DEEPEST - 2, 0]


def test_embeddings_in_isolates_that_are_too_deep_are_not_counted() -> None:
    """X5a to X7: the end of the isolate that has a level clears them."""
    words = ["RLI"] * 64 + ["RLE", "L", "PDF", "PDI", "L", "PDI", "L"]
    assert [_levels(" ".join(words))[at] for at in (65, 68, 70)] == [DEEPEST, DEEPEST, DEEPEST - 2]


def test_the_end_of_an_isolate_forgets_embeddings_that_were_too_deep_in_it() -> None:
    words = ["RLE"] * 62 + ["RLI", "RLE", "PDI", "PDF", "L"]
    assert _levels(" ".join(words))[-1] == DEEPEST - 2 - 2


@pytest.mark.parametrize(
    ("before", "words", "levels"),
    [
        (["RLE"] * 63, "RLI RLE PDI PDF L", [DEEPEST, None, DEEPEST, None, DEEPEST - 2]),
        (["RLE"] * 63, "RLI PDF L PDI L", [DEEPEST, None, DEEPEST, DEEPEST, DEEPEST]),
        (["LRE"] * 62, "LRE RLE L PDF PDF RLE L", [None, None, 124, None, None, None, DEEPEST]),
    ],
)
def test_inside_what_is_too_deep_nothing_begins_or_ends(
    before: list[str], words: str, levels: list[int | None]
) -> None:
    """X5a, X7, the counts of X2: neither an embedding that would fit, nor the end of one outside."""
    assert _levels(" ".join([*before, words]))[len(before) :] == levels
