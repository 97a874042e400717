"""Recipes made from what the settings say of themselves, so that a new setting is tried at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random

from deep.changes import NUMBERS, STRANGE, mutated_text
from reliefsmith.recipe.recipe import AUDIENCES, LETTERING, MARKS, Recipe
from reliefsmith.recipe.settings import Spec, specs

__all__ = ["SPECS", "mutated_assignment", "mutated_recipe"]

_SECTIONS = {name: specs(type(section)) for name, section in Recipe().sections()}
SPECS = {
    "audience": Spec("choice", "", choices=AUDIENCES),
    "marks": MARKS,
    "lettering": LETTERING,
    **{f"{name}.{key}": spec for name, known in _SECTIONS.items() for key, spec in known.items()},
}
"""Every key that a recipe may have, with its spec."""

_FEW = 4  # points or tables of a list; the most that is allowed is tried apart


def mutated_recipe(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Write some settings with values of their kind, at their bounds or wrong, or change a whole recipe."""
    if rng.random() < 0.4:
        return mutated_text(rng, seeds)
    text = _recipe(rng).encode("utf-8", "surrogatepass")
    return mutated_text(rng, [text]) if rng.random() < 0.5 else text


def mutated_assignment(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Write one `section.key=value` of any setting, or change one."""
    if rng.random() < 0.4:
        return mutated_text(rng, seeds)
    key = rng.choice(list(SPECS))
    text = f"{key}={_value(rng, SPECS[key])}".encode("utf-8", "surrogatepass")
    return mutated_text(rng, [text]) if rng.random() < 0.5 else text


def _recipe(rng: Random) -> str:
    """Some settings of some sections; lists of tables in one line or as `[[section.key]]`."""
    lines = [f"schema = {rng.choice((1, 1, 1, 1, 0, 2, 10**30))}"]
    lines += [
        f"{key} = {_value(rng, SPECS[key])}"
        for key in ("audience", "marks", "lettering")
        if rng.random() < 0.3
    ]
    for name in rng.sample(list(_SECTIONS), rng.randrange(1, 5)):
        known = _SECTIONS[name]
        keys = rng.sample(list(known), min(len(known), rng.randrange(1, 4)))
        apart = [key for key in keys if known[key].kind == "tables" and rng.random() < 0.5]
        lines.append(f"[{name}]")
        lines += [f"{key} = {_value(rng, known[key])}" for key in keys if key not in apart]
        for key in apart:
            lines += [f"[[{name}.{key}]]", *(f"{k} = {v}" for k, v in _row(rng, known[key]).items())]
    return "\n".join(lines) + "\n"


def _value(rng: Random, spec: Spec) -> str:
    """Mostly a value of the setting's kind, else of another kind, else something odd."""
    roll = rng.random()
    if roll < 0.94:
        return _KINDS[spec.kind](rng, spec)
    if roll < 0.98:
        other = rng.choice([one for one in SPECS.values() if one.kind != spec.kind])
        return _KINDS[other.kind](rng, other)
    return rng.choice(NUMBERS)


def _number(rng: Random, spec: Spec) -> str:
    low, high = spec.low or 0.0, 100.0 if spec.high is None else spec.high
    inside = (low, high, rng.uniform(low, high), rng.uniform(low, min(high, low + 10.0)), round(low) + 1)
    outside = (low - 1e-9, high * (1 + 1e-9) + 1e-9, -1.0, 1e9)
    return repr(rng.choice(inside if rng.random() < 0.95 else outside))


def _integer(rng: Random, spec: Spec) -> str:
    low, high = int(spec.low or 0), int(spec.high or 9)
    return str(rng.choice((low, high, rng.randint(low, high), low - 1, high + 1)))


def _text(rng: Random, spec: Spec) -> str:
    most = int(spec.high or 80)
    plain = rng.choice(("Larkwater", "kite \u51e7", "EUR", "", "a" * most, "a" * (most + 1), *STRANGE))
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _choice(rng: Random, spec: Spec) -> str:
    return f'"{rng.choice((*spec.choices, *spec.choices, "kite"))}"'


def _color(rng: Random, spec: Spec) -> str:
    if rng.random() < 0.1:
        return f'"{rng.choice(("#12345", "red", "#GG0000", "", *spec.choices))}"'
    return f'"#{rng.randrange(1 << 24):06{rng.choice("xX")}}"'


def _list(rng: Random, one: Callable[[], str], most: int) -> str:
    count = most + rng.choice((0, 1)) if rng.random() < 0.05 else rng.randrange(_FEW + 1)
    return "[" + ", ".join(one() for _ in range(count)) + "]"


def _pair(rng: Random, spec: Spec) -> str:
    return "[" + ", ".join(_number(rng, spec) for _ in range(rng.choice((2,) * 18 + (1, 3)))) + "]"


def _row(rng: Random, spec: Spec) -> dict[str, str]:
    """One table: mostly what must be given, and each of the rest as a coin falls."""
    assert spec.row is not None
    return {key: _value(rng, one) for key, one in specs(spec.row).items() if rng.random() < 0.55}


def _table(rng: Random, spec: Spec) -> str:
    return "{" + ", ".join(f"{key} = {value}" for key, value in _row(rng, spec).items()) + "}"


_KINDS: dict[str, Callable[[Random, Spec], str]] = {
    "number": _number,
    "integer": _integer,
    "flag": lambda rng, _: rng.choice(("true", "false")),
    "text": _text,
    "choice": _choice,
    "color": _color,
    "color-or-number": lambda rng, spec: rng.choice((_color, _number))(rng, spec),
    "colors": lambda rng, spec: _list(rng, lambda: _color(rng, spec), int(spec.high or 64)),
    "color-pairs": lambda rng, spec: _list(
        rng, lambda: f"[{_color(rng, spec)}, {_color(rng, spec)}]", int(spec.high or 64)
    ),
    "point": _pair,
    "size": _pair,
    "box": lambda rng, spec: f"[{', '.join(_number(rng, spec) for _ in range(4))}]",
    "polygon": lambda rng, spec: _list(rng, lambda: _pair(rng, spec), spec.most or 500),
    "tables": lambda rng, spec: _list(rng, lambda: _table(rng, spec), spec.most or 64),
}
