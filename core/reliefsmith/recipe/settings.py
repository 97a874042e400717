"""How a setting is declared, once: kind, unit, bounds and help; sections and rows of such settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, field, fields, replace
from typing import Any, ClassVar, Self

from ..errors import RecipeError
from .hints import offered, shown
from .values import Spec, checked

__all__ = ["REQUIRED", "Row", "Section", "Spec", "checked", "from_mapping", "setting", "specs"]

_KINDS = {"float": "number", "int": "integer", "bool": "flag", "str": "text"}  # of annotations
_UNITS = ("mm", "deg")  # that names end in

REQUIRED: Any = object()
"""Default of a setting in a `Row` that every table must give."""


def setting(
    default: Any,
    help: str,  # noqa: A002 - the word of the trade
    *,
    kind: str = "",
    unit: str = "",
    low: float | None = None,
    high: float | None = None,
    choices: tuple[str, ...] = (),
    most: int | None = None,
    row: type[Any] | None = None,
) -> Any:
    """Declare one setting as a dataclass field; see `Spec` for the meaning of each word.

    The kind is given only where the annotation does not say it, the unit where the name does not end in it.
    """
    spec = Spec(kind, help, unit, low, high, choices, default is None, most, row)
    return field(default=MISSING if default is REQUIRED else default, metadata={"spec": spec})


def _whole(item: Field[Any]) -> Spec:
    """Return what was declared of a setting, with what its annotation and its name say."""
    spec: Spec = item.metadata["spec"]
    annotated = str(item.type).removesuffix(" | None")
    plain = "choice" if spec.choices else "tables" if spec.row else _KINDS.get(annotated, "")
    ending = item.name.rpartition("_")[2]
    return replace(spec, kind=spec.kind or plain, unit=spec.unit or (ending if ending in _UNITS else ""))


class Section:
    """Base of the recipe's sections: every value is checked once, on construction."""

    __slots__ = ()
    NAME: ClassVar[str]

    def __post_init__(self) -> None:
        for key, spec in specs(type(self)).items():
            object.__setattr__(self, key, checked(f"{self.NAME}.{key}", getattr(self, key), spec))


class Row(Section):
    """Base of the tables in a list: like a section, with a rule over its values together."""

    __slots__ = ()

    def __post_init__(self) -> None:
        Section.__post_init__(self)
        if words := self.fault():
            raise RecipeError(f"{self.NAME}: {words}")

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        return ""

    @classmethod
    def entry(cls, where: str, value: Any) -> Self:
        """Build one row of a list of tables; every mistake names the entry, counted from 1.

        Raises
        ------
        RecipeError
            If the value is neither a row nor a table of its settings.
        """
        if isinstance(value, cls):
            return value
        if not isinstance(value, Mapping):
            raise RecipeError(f"{where} must be a table, got {shown(value)}")
        known = specs(cls)
        for key in value:
            if key not in known:
                raise RecipeError(f"{where}: unknown setting {shown(key)}{offered(str(key), list(known))}")
        for item in fields(cls):  # type: ignore[arg-type]
            if item.default is MISSING and item.name not in value:
                raise RecipeError(f"{where} needs {item.name}: {known[item.name].help}")
        values = {key: checked(f"{where}: {key}", item, known[key]) for key, item in value.items()}
        try:
            return cls(**values)
        except RecipeError as error:  # the rule over all values, which knows no number of the entry
            raise RecipeError(f"{where}: {str(error).partition(': ')[2]}") from error


_SPECS: dict[type[Any], dict[str, Spec]] = {}


def specs(section: type[Any]) -> dict[str, Spec]:
    """Return the spec of each setting of a section, in the order of declaration."""
    if section not in _SPECS:
        _SPECS[section] = {item.name: _whole(item) for item in fields(section)}
    return _SPECS[section]


def from_mapping(section: type[Any], values: Mapping[str, Any], known: list[str]) -> Any:
    """Build a section from a mapping such as a TOML table.

    Raises
    ------
    RecipeError
        For an unknown key (naming the nearest of all `known` dotted keys) or a bad value.
    """
    for key in values:
        if key not in specs(section):
            dotted = f"{section.NAME}.{key}"
            raise RecipeError(f"unknown setting {dotted}{offered(dotted, known)}")
    return section(**values)
