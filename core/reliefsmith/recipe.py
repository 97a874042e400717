"""The recipe: all settings of one job, its schema number, TOML in and out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from . import sections as s
from .errors import RecipeError
from .settings import Row, Section, Spec, checked, from_mapping, nearest, shown, specs
from .tables import AREA_KINDS, LINK_KINDS, OUTLINE_KINDS, STROKE_KINDS, Mark

__all__ = ["AUDIENCES", "MARKS", "SCHEMA", "Recipe", "beside", "known_keys", "parse_toml"]
__all__ += ["read_toml", "toml_value"]

SCHEMA = 1
AUDIENCES = ("adults", "children")
MARKS = Spec("tables", "corrections of the picture by place, each a table", most=100, row=Mark)
_LOOSE = ("audience", "marks")  # what stands above the sections
_BOUNDED = ("number", "integer", "color-or-number", "point", "size", "box", "polygon")
_MAX_BYTES = 256 * 1024
# The parser takes time with the square of a dotted key's length: 50,000 parts take 16 s. A recipe needs two.
_MAX_KEY_PARTS = 32
_DEEP_KEY = re.compile(rf"(?<![\w-])(?:[\w-]++[ \t]*+\.[ \t]*+){{{_MAX_KEY_PARTS}}}")
_QUOTED = re.compile(r"""\"(?:[^"\\\n]|\\.)*+"?|'[^'\n]*+'?""")


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
    heights: s.HeightSettings = field(default_factory=s.HeightSettings)
    printer: s.PrinterSettings = field(default_factory=s.PrinterSettings)
    filaments: s.FilamentSettings = field(default_factory=s.FilamentSettings)
    cost: s.CostSettings = field(default_factory=s.CostSettings)
    order: s.OrderSettings = field(default_factory=s.OrderSettings)
    audience: str = "adults"
    marks: tuple[Mark, ...] = ()

    def __post_init__(self) -> None:
        if self.audience not in AUDIENCES:
            raise RecipeError(f"audience must be one of {', '.join(AUDIENCES)}, got {shown(self.audience)}")
        if self.size.width_mm is not None and self.size.height_mm is not None:
            raise RecipeError("size.width_mm and size.height_mm cannot both be given; leave one out")
        object.__setattr__(self, "marks", checked("marks", self.marks, MARKS))

    @classmethod
    def from_mapping(cls, values: Mapping[str, Any]) -> Recipe:
        """Build a recipe from nested tables, as TOML gives them."""
        return cls().merged(values)

    @classmethod
    def load(cls, path: str | Path) -> Recipe:
        """Read a recipe from a TOML file of at most 256 KiB."""
        return cls.from_mapping(beside(read_toml(path), path))

    def merged(self, values: Mapping[str, Any]) -> Recipe:
        """Return a copy with the values of nested tables put over this recipe's."""
        parts: dict[str, Any] = {item.name: getattr(self, item.name) for item in fields(self)}
        for key, value in values.items():
            if key == "schema":
                _check_schema(value)
            elif key in _LOOSE:
                parts[key] = value
            elif key in parts:
                parts[key] = _merged_section(key, parts[key], value)
            else:
                raise RecipeError(f"unknown setting {key}{nearest(key, [*parts, *known_keys()])}")
        return type(self)(**parts)

    def with_values(self, values: Mapping[str, Any]) -> Recipe:
        """Return a copy with dotted keys such as "base.border_mm" set."""
        nested: dict[str, Any] = {}
        for dotted, value in values.items():
            section, _, key = dotted.partition(".")
            if not key:
                nested[section] = value
                continue
            table = nested.setdefault(section, {})
            if not isinstance(table, dict) or "." in key:
                raise RecipeError(f"unknown setting {dotted}{nearest(dotted, known_keys())}")
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
        for name, section in self.sections():
            lines += ["", f"[{name}]"]
            for key, spec in specs(type(section)).items():
                lines.append(_toml_line(key, getattr(section, key), spec, with_help))
        return "\n".join(lines) + "\n"


def known_keys() -> list[str]:
    """Return every dotted key that a recipe may have."""
    keys = ["schema", *_LOOSE]
    for item in fields(Recipe):
        if item.name not in _LOOSE:
            keys += [f"{item.name}.{key}" for key in specs(item.default_factory)]  # type: ignore[arg-type]
    return keys


def read_toml(path: str | Path) -> dict[str, Any]:
    """Read a small TOML file.

    Raises
    ------
    RecipeError
        If it cannot be read, is larger than 256 KiB or is no TOML.
    """
    try:
        path = Path(path)
        if path.exists() and not path.is_file():  # opening a pipe may wait for ever
            raise RecipeError(f"recipe {path} is no ordinary file; give a TOML file")
        with path.open("rb") as file:
            data = file.read(_MAX_BYTES + 1)
        if len(data) > _MAX_BYTES:
            raise RecipeError(f"recipe {path} is larger than 256 KiB; is it the right file?")
        return parse_toml(data.decode("utf-8"), f"recipe {path}")
    except UnicodeDecodeError as error:
        raise RecipeError(f"recipe {path} is no text in UTF-8; is it the right file?") from error
    except (OSError, ValueError) as error:
        if isinstance(error, RecipeError):
            raise
        raise RecipeError(
            f"cannot read recipe {path}: {getattr(error, 'strerror', None) or error}"
        ) from error


def beside(values: dict[str, Any], path: str | Path) -> dict[str, Any]:
    """Return a recipe's tables with the files that it names found from its own folder."""
    heights = values.get("heights")
    if not isinstance(heights, dict) or not isinstance(hand := heights.get("hand"), str) or not hand:
        return values
    return {**values, "heights": {**heights, "hand": str(Path(path).parent / hand)}}


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Parse TOML; `name` says in an error what was parsed."""
    deep = f"{name} is no valid recipe: its keys, tables or lists are nested too deep"
    if _DEEP_KEY.search(_QUOTED.sub("s", text)):
        raise RecipeError(deep)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise RecipeError(deep) from error
    except ValueError as error:  # bad TOML, or a whole number of thousands of digits
        raise RecipeError(f"{name} is no valid TOML: {error}") from error


def _check_schema(value: Any) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= SCHEMA:
        raise RecipeError(f"schema must be {SCHEMA}, got {shown(value)}; this recipe needs another version")


def _merged_section(name: str, section: Section, values: Any) -> Section:
    if not isinstance(values, Mapping):
        raise RecipeError(f"{name} must be a table of settings, got {shown(values)}")
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
