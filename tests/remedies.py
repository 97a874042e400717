"""Reads out of a message which settings it offers, so that a test can take it at its word."""

from __future__ import annotations

import re
from typing import Any

from reliefsmith import Recipe
from reliefsmith.recipe.recipe import known_keys
from reliefsmith.recipe.settings import Spec, specs

__all__ = ["skeleton", "ways"]

_KEY = "|".join(re.escape(key) for key in sorted(known_keys(), key=len, reverse=True) if "." in key)
_TOKEN = re.compile(
    rf"(?P<key>{_KEY})\b(?P<own> -?[\d.]+(?= is ))?"
    r"|(?P<verb>\braise\b|\blower\b|\bchoose another\b|\bset\b|\btry\b|\bmake\b)"
    r"|(?P<it>\bit\b)"
    r"|(?:\bto|\bat|=) \"?(?P<value>-?\d+(?:\.\d+)?|[a-z][a-z-]*)\"?(?P<also> or \"?(?P<second>[a-z-]+)\"?)?"
    r"|\bby (?P<more>-?\d+(?:\.\d+)?)(?= mm)"
)
_STEPS = (1.1, 1.25, 1.5, 2.0, 3.0, 5.0, 10.0)


def skeleton(message: str) -> str:
    """Return a message without its numbers, places and names of parts: the same for the same complaint."""
    return re.sub(r"-?\d+(?:\.\d+)?|\b(?:red|blue|gold|yellow|white|base|teal|navy)\b", "#", message)


def ways(message: str, recipe: Recipe) -> list[list[dict[str, Any]]]:
    """Return the ways out that a message offers as settings.

    Read are "set KEY to VALUE", "KEY to VALUE", "raise it to VALUE" (the first key named), "raise KEY by
    NUMBER mm", "KEY = VALUE", "raise KEY", "lower KEY" and "choose another KEY".

    Returns
    -------
    list of list of dict
        Each way with the changes of which one at least has to help: the very value that is told, or where
        none is, larger or smaller values, or the other choices.
    """
    found: list[list[dict[str, Any]]] = []
    first = key = verb = ""
    for match in _TOKEN.finditer(message):
        if match["verb"]:
            verb, key = match["verb"], ""
        elif match["key"] or (match["it"] and verb in ("raise", "lower", "set") and first):
            key = match["key"] or first
            first = first or key
            if match["own"] is None and verb and not _told_value(message, match.end()):
                found.append(_searched(key, verb, recipe))
        elif key and (match["value"] or match["more"]):
            together = found and message[: match.start()].endswith(f" and {key} ")
            for value in (match["value"], match["second"]):
                if value is not None and _fits(key, value):
                    change = {key: _read(key, value)}
                    if together:
                        found[-1] = [{**found[-1][0], **change}]
                    else:
                        found.append([change])
            if match["more"]:
                found.append([{key: _value(recipe, key) + float(match["more"])}])
            key = ""
    return [way for way in found if way]


def _told_value(message: str, at: int) -> bool:
    return re.match(r" (?:to|at|=|by) \"?[\w-]", message[at:]) is not None


def _spec(key: str) -> Spec:
    section, _, name = key.partition(".")
    return specs(type(getattr(Recipe(), section)))[name]


def _value(recipe: Recipe, key: str) -> Any:
    section, _, name = key.partition(".")
    return getattr(getattr(recipe, section), name)


def _fits(key: str, text: str) -> bool:
    """Return whether a word after a key is a value of it, and not the next word of the sentence."""
    spec = _spec(key)
    return text in spec.choices if spec.kind in ("choice", "color") else not text[:1].isalpha()


def _read(key: str, text: str) -> Any:
    kind = _spec(key).kind
    return int(text) if kind == "integer" else float(text) if kind == "number" else text


def _searched(key: str, verb: str, recipe: Recipe) -> list[dict[str, Any]]:
    """Return what to try where no value is told."""
    spec, now = _spec(key), _value(recipe, key)
    if spec.kind == "choice":
        return [{key: one} for one in spec.choices if one != now]
    if spec.kind not in ("number", "integer") or not now or spec.low is None or spec.high is None:
        return []
    steps = _STEPS if verb == "raise" else [1 / step for step in _STEPS] if verb == "lower" else []
    kind = int if spec.kind == "integer" else float
    return [{key: kind(now * step)} for step in steps if spec.low <= now * step <= spec.high]
