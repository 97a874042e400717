"""Settings of single tables in a recipe's lists, by dotted keys with a number, such as "marks.2.value"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from ..errors import RecipeError
from .recipe import Recipe, known_keys, spec_of
from .settings import Spec, specs

__all__ = ["keys_beside", "spec_at", "with_entries"]

_ENTRY = re.compile(r"(?P<list>.+)\.(?P<number>[1-9][0-9]{0,3})\.(?P<key>[a-z_]+)")


@cache
def spec_at(key: str) -> Spec | None:
    """Return what is known of a setting, also of one in a list of tables; None where there is none.

    Examples
    --------
    >>> spec_at("marks.2.kind").kind, spec_at("filaments.stock.1.grams").unit, spec_at("marks.x")
    ('choice', 'g', None)
    """
    known = [one for one in known_keys() if one != "schema"]
    if key in known:
        return spec_of(key)
    entry = _ENTRY.fullmatch(key)
    if entry is None or entry["list"] not in known:
        return None
    row = spec_of(entry["list"]).row
    return None if row is None else specs(row).get(entry["key"])


def keys_beside(key: str) -> list[str]:
    """Return the keys of the table of a list that a key with a number is of; none where it is of no list.

    Examples
    --------
    >>> keys_beside("marks.2.kinds")[0], keys_beside("base.2.kind")
    ('marks.2.kind', [])
    """
    entry = _ENTRY.fullmatch(key)
    if entry is None or entry["list"] not in known_keys() or (row := spec_of(entry["list"]).row) is None:
        return []
    return [f"{key.removesuffix(entry['key'])}{own}" for own in specs(row)]


def with_entries(recipe: Recipe, values: Mapping[str, Any]) -> Recipe:
    """Return a copy with dotted keys set; one with a number changes that entry of a list, or adds the next.

    Raises
    ------
    RecipeError
        As `Recipe.with_values`, and where an entry would leave a gap in its list.

    Examples
    --------
    >>> values = {"marks.1.kind": "protect", "marks.1.at_mm": (1, 2)}
    >>> with_entries(Recipe(), values).marks[0].at_mm
    (1.0, 2.0)
    """
    lists: dict[str, list[dict[str, Any]]] = {}
    plain: dict[str, Any] = {}
    entries = {key: _ENTRY.fullmatch(key) for key in values if spec_at(key) is not None}
    for key, value in sorted(values.items(), key=lambda item: _place(entries.get(item[0]))):
        entry = entries.get(key)
        if entry is None:
            plain[key] = value
            continue
        name, number = entry["list"], int(entry["number"])
        tables = lists.setdefault(name, _tables(recipe, plain, name))
        if number > len(tables) + 1:
            raise RecipeError(f"{key} is given, and {name} has {len(tables)}; number them without a gap")
        if number > len(tables):
            tables.append({})
        tables[number - 1][entry["key"]] = value
    return recipe.with_values({**plain, **lists})


def _place(entry: re.Match[str] | None) -> tuple[str, int]:
    """Put whole settings first, then entries in their order."""
    return ("", 0) if entry is None else (entry["list"], int(entry["number"]))


def _tables(recipe: Recipe, plain: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
    """Return the tables of a list as they stand, those of the same values first."""
    section, _, key = name.partition(".")
    found = plain.get(name, recipe.plain(section)[key] if key else recipe.plain(section))
    return [dict(table) for table in found]
