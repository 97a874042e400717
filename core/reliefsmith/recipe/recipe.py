"""The recipe: all settings of one job, its schema number, TOML in and out."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from typing import Any

from ..errors import RecipeError
from . import sections as s
from .hints import offered, shown
from .settings import Row, Section, Spec, checked, from_mapping, specs
from .tables import AREA_KINDS, LINK_KINDS, OUTLINE_KINDS, STROKE_KINDS, Mark
from .tomlfile import beside, read_toml

__all__ = ["AUDIENCES", "LETTERING", "MARKS", "SCHEMA", "Recipe", "known_keys", "spec_of"]
__all__ += ["toml_value"]

SCHEMA = 1
AUDIENCES = ("adults", "children")
AUDIENCE = Spec("choice", "who uses the piece", choices=AUDIENCES)
MARKS = Spec("tables", "corrections of the picture by place, each a table", most=100, row=Mark)
LETTERING = Spec("tables", "texts that are set on the piece, each a table", most=20, row=s.Inscription)
_LOOSE = ("audience", "marks", "lettering")  # what stands above the sections
_BOUNDED = ("number", "integer", "color-or-number", "point", "size", "box", "polygon")


@dataclass(frozen=True, slots=True)
class Recipe:
    """Every setting of one job, checked.

    Raises
    ------
    RecipeError
        For an unknown key, a wrong type, or a value out of bounds.

    Examples
    --------
    >>> Recipe().heights.base_mm
    2.0
    >>> Recipe().with_values({"base.border_mm": 1.5}).base.border_mm
    1.5
    """

    artwork: s.ArtworkSettings = field(default_factory=s.ArtworkSettings)
    size: s.SizeSettings = field(default_factory=s.SizeSettings)
    background: s.BackgroundSettings = field(default_factory=s.BackgroundSettings)
    colors: s.ColorSettings = field(default_factory=s.ColorSettings)
    areas: s.AreasSettings = field(default_factory=s.AreasSettings)
    base: s.BaseSettings = field(default_factory=s.BaseSettings)
    motif: s.MotifSettings = field(default_factory=s.MotifSettings)
    pieces: s.PieceSettings = field(default_factory=s.PieceSettings)
    hang: s.HangSettings = field(default_factory=s.HangSettings)
    back: s.BackSettings = field(default_factory=s.BackSettings)
    heights: s.HeightSettings = field(default_factory=s.HeightSettings)
    stand: s.StandSettings = field(default_factory=s.StandSettings)
    handle: s.HandleSettings = field(default_factory=s.HandleSettings)
    housing: s.HousingSettings = field(default_factory=s.HousingSettings)
    seams: s.SeamSettings = field(default_factory=s.SeamSettings)
    form: s.FormSettings = field(default_factory=s.FormSettings)
    printer: s.PrinterSettings = field(default_factory=s.PrinterSettings)
    filaments: s.FilamentSettings = field(default_factory=s.FilamentSettings)
    beds: s.BedSettings = field(default_factory=s.BedSettings)
    cost: s.CostSettings = field(default_factory=s.CostSettings)
    order: s.OrderSettings = field(default_factory=s.OrderSettings)
    audience: str = "adults"
    marks: tuple[Mark, ...] = ()
    lettering: tuple[s.Inscription, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "audience", checked("audience", self.audience, AUDIENCE))
        if self.size.width_mm is not None and self.size.height_mm is not None:
            raise RecipeError("size.width_mm and size.height_mm cannot both be given; leave one out")
        object.__setattr__(self, "marks", checked("marks", self.marks, MARKS))
        object.__setattr__(self, "lettering", checked("lettering", self.lettering, LETTERING))

    @classmethod
    def from_mapping(cls, values: Mapping[str, Any]) -> Recipe:
        """Build a recipe from nested tables, as TOML gives them."""
        return cls().merged(values)

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> Recipe:
        """Read a recipe from a TOML file of at most 256 KiB."""
        return cls.from_mapping(beside(read_toml(path), path))

    def merged(self, values: Mapping[str, Any]) -> Recipe:
        """Return a copy with the values of nested tables put over this recipe's."""
        _require_table(values)
        parts: dict[str, Any] = {item.name: getattr(self, item.name) for item in fields(self)}
        for key, value in values.items():
            if key == "schema":
                _check_schema(value)
            elif key in _LOOSE:
                parts[key] = value
            elif key in parts:
                parts[key] = _merged_section(key, parts[key], value)
            else:
                raise RecipeError(_unknown(key, value))
        return type(self)(**parts)

    def with_values(self, values: Mapping[str, Any]) -> Recipe:
        """Return a copy with dotted keys such as "base.border_mm" set."""
        _require_table(values)
        nested: dict[str, Any] = {}
        for dotted, value in values.items():
            section, _, key = dotted.partition(".")
            if not key:
                nested[section] = value
                continue
            table = nested.setdefault(section, {})
            if not isinstance(table, dict) or "." in key:
                raise RecipeError(_unknown(dotted))
            table[key] = value
        return self.merged(nested)

    def as_mapping(self) -> dict[str, Any]:
        """Return nested plain values; settings that are unset are left out."""
        names = (*_LOOSE, *(name for name, _ in self.sections()))
        return {"schema": SCHEMA, **{name: self.plain(name) for name in names}}

    @property
    def area_marks(self) -> tuple[Mark, ...]:
        """The marks that correct the picture's areas."""
        return self._marks(AREA_KINDS)

    @property
    def flat_colors(self) -> s.ColorSettings:
        """The settings of the colors of the picture: not the base's, and not how many are loaded."""
        return replace(self.colors, base="auto", most=0)

    @property
    def base_stock(self) -> s.FilamentSettings:
        """The filaments that the base's color must come from: none unless nothing but stock is to be used."""
        return self.filaments if self.filaments.only_stock else s.FilamentSettings()

    @property
    def outline_marks(self) -> tuple[Mark, ...]:
        """The marks that change the base."""
        return self._marks(OUTLINE_KINDS)

    @property
    def stroke_marks(self) -> tuple[Mark, ...]:
        """The marks that change how strokes are mended."""
        return self._marks(STROKE_KINDS)

    @property
    def link_marks(self) -> tuple[Mark, ...]:
        """The marks that add and forbid links."""
        return self._marks(LINK_KINDS)

    def _marks(self, kinds: tuple[str, ...]) -> tuple[Mark, ...]:
        return tuple(mark for mark in self.marks if mark.kind in kinds)

    def plain(self, name: str) -> Any:
        """Return one section, or what stands above them, as plain values."""
        section = getattr(self, name)
        if not isinstance(section, Section):
            return _plain(section)
        items = {key: _plain(getattr(section, key)) for key in specs(type(section))}
        return {key: value for key, value in items.items() if value is not None}

    def sections(self) -> list[tuple[str, Section]]:
        """Return the sections with their names, in the order of the work."""
        return [(item.name, getattr(self, item.name)) for item in fields(self) if item.name not in _LOOSE]

    def to_toml(self, *, with_help: bool = False) -> str:
        """Return the whole recipe as TOML; `with_help` puts unit, bounds and help beside each setting."""
        lines = [f"schema = {SCHEMA}", f"audience = {toml_value(self.audience)}"]
        if with_help:
            lines[1] += f"  # who uses the piece: {', '.join(AUDIENCES)}"
        lines.append(_toml_line("marks", self.marks, MARKS, with_help))
        lines.append(_toml_line("lettering", self.lettering, LETTERING, with_help))
        for name, section in self.sections():
            lines += ["", f"[{name}]"]
            for key, spec in specs(type(section)).items():
                lines.append(_toml_line(key, getattr(section, key), spec, with_help))
        return "\n".join(lines) + "\n"


@cache
def known_keys() -> list[str]:
    """Return every dotted key that a recipe may have."""
    keys = ["schema", *_LOOSE]
    for item in fields(Recipe):
        if item.name not in _LOOSE:
            keys += [f"{item.name}.{key}" for key in specs(item.default_factory)]  # type: ignore[arg-type]
    return keys


def spec_of(key: str) -> Spec:
    """Return what is known of the setting of a dotted key that is one of `known_keys`.

    Examples
    --------
    >>> spec = spec_of("heights.base_mm")
    >>> spec.kind, spec.unit, spec.low, spec.high
    ('number', 'mm', 0.2, 50)
    """
    section, _, name = key.partition(".")
    loose = {"audience": AUDIENCE, "marks": MARKS, "lettering": LETTERING}
    return loose[key] if key in loose else specs(type(getattr(Recipe(), section)))[name]


def _check_schema(value: Any) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= SCHEMA:
        raise RecipeError(f"schema must be {SCHEMA}, got {shown(value)}; this recipe needs another version")


def _require_table(values: object) -> None:
    if not isinstance(values, Mapping):
        raise RecipeError(f"settings are given as a table of names and values, got {type(values).__name__}")
    for key in values:
        if not isinstance(key, str):
            raise RecipeError(f"the name of a setting must be text, got {shown(key)}")


def _unknown(key: str, value: Any = None) -> str:
    """Say that a key is none; of a table under an unknown name its first key is told too."""
    dotted = f"{key}.{next(iter(value))}" if isinstance(value, Mapping) and value else key
    sections = [item.name for item in fields(Recipe) if item.name not in _LOOSE]
    return f"unknown setting {dotted}{offered(dotted, [*known_keys(), *sections])}"


def _merged_section(name: str, section: Section, values: Any) -> Section:
    if not isinstance(values, Mapping):
        first = next(iter(specs(type(section))))
        raise RecipeError(
            f"{name} must be a table of settings, got {shown(values)}; name one, such as {name}.{first}"
        )
    old = {key: getattr(section, key) for key in specs(type(section))}
    if name == "size":  # the newer of width and height replaces the older
        for one, other in (("width_mm", "height_mm"), ("height_mm", "width_mm")):
            if one in values and other not in values:
                old[other] = None
    new: Section = from_mapping(type(section), {**old, **values}, known_keys())
    return new


def _plain(value: Any) -> Any:
    if isinstance(value, Row):
        return {key: _plain(item) for key, item in _given(value)}
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


def _given(row: Row) -> list[tuple[str, Any]]:
    """Return the settings of a row that are set."""
    items = [(key, getattr(row, key)) for key in specs(type(row))]
    return [(key, value) for key, value in items if value is not None]


def toml_value(value: Any) -> str:
    """Return the value of a setting as TOML writes it, in one line.

    Examples
    --------
    >>> toml_value((1.5, 2.0)), toml_value(Mark("erase", at_mm=(1.5, 2)))
    ('[1.5, 2.0]', '{kind = "erase", at_mm = [1.5, 2.0]}')
    """
    if isinstance(value, Row):
        return "{" + ", ".join(f"{key} = {toml_value(item)}" for key, item in _given(value)) + "}"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, tuple):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    return repr(value)


def _toml_line(key: str, value: Any, spec: Spec, with_help: bool) -> str:
    if spec.kind == "tables":
        return _toml_tables(key, value, spec, with_help)
    line = f"# {key} = " if value is None else f"{key} = {toml_value(value)}"
    if not with_help:
        return line.rstrip() if value is not None else f"# {key} is not set"
    return f"{line}  # {_about(spec)}"


def _toml_tables(key: str, rows: tuple[Row, ...], spec: Spec, with_help: bool) -> str:
    """Write a list of tables, one a line, and with help the keys that a table may have."""
    about = [f"  # {spec.help}" if with_help else ""]
    if with_help:
        about += [f"#   {name}  # {_about(own)}" for name, own in specs(spec.row or Row).items()]
    lines = [f"{key} = [{'' if rows else ']'}{about[0]}", *(f"  {toml_value(row)}," for row in rows)]
    return "\n".join([*lines, *(["]"] if rows else []), *about[1:]])


def _about(spec: Spec) -> str:
    """Return help, unit, bounds and choices of a setting."""
    about = [spec.help]
    if spec.unit:
        about.append(spec.unit)
    if spec.kind in _BOUNDED and spec.low is not None:
        about.append(f"{spec.low:g} to {spec.high:g}")
    if spec.choices:
        about.append(" | ".join(spec.choices))
    return "; ".join(about)
