"""The words that commands take, each declared once, and how the text of one is read."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Annotated, Any, get_type_hints

import typer

from ..recipe import Recipe
from ..recipe.asked import asked_over, asked_recipe
from ..recipe.hints import number_hint, shown
from ..recipe.sections.limits import MOST_COLORS
from ..walk.colornames import colors_told

__all__ = [
    "ArtworkPath",
    "Asked",
    "AskedArt",
    "Makers",
    "Over",
    "Preset",
    "Replace",
    "Shown",
    "Staged",
]
__all__ += ["named", "number", "path", "plain", "spread", "whole", "written"]

NO_NAME = "got an empty name"
"""What `path` says of an empty text, which would mean the current folder."""


def path(text: str) -> Path:
    """Read the name of a file or folder."""
    if not text:
        raise typer.BadParameter(NO_NAME)
    return Path(text)


def number(text: str, unit: str = "") -> float:
    """Read a number, which may be followed by nothing, not even its unit."""
    try:
        return float(text)
    except ValueError:
        hint = number_hint(text, unit)
        raise typer.BadParameter(f"must be a number, got {shown(text)}{hint}") from None


def millimetres(text: str) -> float:
    """Read a number of millimetres."""
    return number(text, "mm")


def whole(text: str) -> int:
    """Read a whole number."""
    try:
        return int(text)
    except ValueError:
        hint = number_hint(text, whole=True)
        raise typer.BadParameter(f"must be a whole number, got {shown(text)}{hint}") from None


def named(*names: str, about: str, value: str | None = None, read: Any = None) -> Any:
    """Declare a word with a name: what it does, what its value is called, how the value is read."""
    return typer.Option(*names, help=about, metavar=value, parser=read)


def written(about: str, value: str = "DIR") -> Any:
    """Declare the word for the folder, or the file, that a command writes."""
    return named("-o", "--output", about=about, value=value)


def plain(value: str, about: str | None = None) -> Any:
    """Declare a word without a name: a file or folder."""
    return typer.Argument(metavar=value, help=about, show_default=False, parser=path)


ArtworkPath = Annotated[Path, plain("ARTWORK", "The picture.")]
_Stages = Annotated[
    Path | None,
    named("--keep-stages", about="Keep stage values for the next run.", value="DIR", read=path),
]
Replace = Annotated[bool, named("--replace", about="Let it replace files that no earlier run of this wrote.")]
Preset = Annotated[str | None, named("--preset", about="Named settings to start from.", value="NAME")]
_RecipePath = Annotated[
    Path | None, named("--recipe", about="Settings of the job.", value="R.toml", read=path)
]
_Width = Annotated[
    float | None, named("--width", about="Width of the artwork in mm.", value="MM", read=millimetres)
]
_Height = Annotated[
    float | None, named("--height", about="Height of the artwork in mm.", value="MM", read=millimetres)
]
_COLORS = f"Flat colors, 1 to {MOST_COLORS}, background not counted."
_Colors = Annotated[int | None, named("--colors", about=_COLORS, value="N", read=whole)]
_Sets = Annotated[
    list[str] | None, named("--set", about="One setting; may be repeated.", value="SECTION.KEY=VALUE")
]
_Jobs = Annotated[
    int | None, named("--jobs", about="Processes; as many as cores by default.", value="N", read=whole)
]
_Scheduler = Annotated[
    str | None, named("--scheduler", about="A Dask cluster that makes the rows instead.", value="ADDRESS")
]
_RowSeconds = Annotated[
    float, named("--row-seconds", about="Most time that a row may take.", value="S", read=number)
]
_RowGib = Annotated[
    float, named("--row-gib", about="Most memory of its process, in GiB.", value="GIB", read=number)
]
_Json = Annotated[bool, named("--json", about="Print the report as JSON on stdout.")]
_Quiet = Annotated[bool, named("--quiet", "-q", about="Show errors only.")]
_Verbose = Annotated[bool, named("--verbose", "-v", about="Show the time of each stage.")]


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a line says of the recipe."""

    recipe: _RecipePath = None
    preset: Preset = None
    sets: _Sets = None

    def settings(self) -> Recipe:
        """Return the recipe that is asked for, checked."""
        return asked_recipe(self.recipe, self.preset, sets=self.sets)


@dataclass(frozen=True, kw_only=True)
class AskedArt(Asked):
    """What a line says of the recipe of one artwork."""

    width: _Width = None
    height: _Height = None
    colors: _Colors = None

    def settings(self) -> Recipe:
        """Return the recipe that is asked for, checked."""
        size = {"width": self.width, "height": self.height}
        return asked_recipe(self.recipe, self.preset, sets=self.sets, colors=self.colors, **size)

    def settings_for(self, artwork: Path) -> Recipe:
        """Return that recipe; a word that is no color is told with the colors of the artwork."""
        with colors_told(artwork):
            return self.settings()


@dataclass(frozen=True, kw_only=True)
class Makers:
    """What a line says of who makes the rows of a batch, and what each row may take."""

    jobs: _Jobs = None
    scheduler: _Scheduler = None
    row_seconds: _RowSeconds = 600.0
    row_gib: _RowGib = 4.0


@dataclass(frozen=True, kw_only=True)
class Over:
    """What a line says over the recipes of finished sets: the pieces stay as they are."""

    recipe: _RecipePath = None
    sets: _Sets = None

    def settings(self, own: Recipe) -> Recipe:
        """Return a set's recipe with printer, beds, cost and order as the line says."""
        return asked_over(own, self.recipe, self.sets)


@dataclass(frozen=True, kw_only=True)
class Shown:
    """How much a command shows."""

    as_json: _Json = False
    quiet: _Quiet = False


@dataclass(frozen=True, kw_only=True)
class Staged(Shown):
    """How much a command shows that goes through stages, and where it keeps their values."""

    verbose: _Verbose = False
    keep_stages: _Stages = None

    def store(self) -> Any:
        """Return the store of stage values that is asked for, or None."""
        if self.keep_stages is None:
            return None
        from ..walk.store import FolderStore

        return FolderStore(self.keep_stages)


def spread(command: Callable[..., int]) -> Callable[..., int]:
    """Return a command that takes the fields of its groups, such as `Asked`, as words of its own."""
    hints = get_type_hints(command, include_extras=True)
    groups: dict[str, Any] = {key: hint for key, hint in hints.items() if is_dataclass(hint)}

    def called(**values: Any) -> int:
        for key, group in groups.items():
            values[key] = group(**{one.name: values.pop(one.name) for one in fields(group)})
        return command(**values)

    words: list[inspect.Parameter] = []
    for key, item in inspect.signature(command).parameters.items():
        if key not in groups:
            words.append(item.replace(annotation=hints[key]))
            continue
        known = get_type_hints(groups[key], include_extras=True)
        words += [
            inspect.Parameter(one.name, item.KEYWORD_ONLY, default=one.default, annotation=known[one.name])
            for one in fields(groups[key])
        ]
    called.__name__, called.__doc__ = command.__name__, command.__doc__
    called.__signature__ = inspect.Signature(words)  # type: ignore[attr-defined]
    called.__annotations__ = {item.name: item.annotation for item in words}
    return called
