"""The words that commands take, each declared once, and how the text of one is read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from ..recipe.hints import number_hint, shown
from ..recipe.sections.limits import MOST_COLORS

__all__ = ["ArtworkPath", "Colors", "Height", "Json", "Preset", "Quiet", "RecipePath", "Replace", "Sets"]
__all__ += ["Stages", "Verbose", "Width", "named", "number", "path", "plain", "whole"]

NO_NAME = "got an empty name"
"""What `path` says of an empty text, which would mean the current folder."""


def path(text: str) -> Path:
    """Read the name of a file or folder."""
    if not text:
        raise typer.BadParameter(NO_NAME)
    return Path(text)


def number(text: str) -> float:
    """Read a number of millimetres."""
    try:
        return float(text)
    except ValueError:
        hint = number_hint(text, "mm")
        raise typer.BadParameter(f"must be a number, got {shown(text)}{hint}") from None


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


def plain(value: str, about: str | None = None) -> Any:
    """Declare a word without a name: a file or folder."""
    return typer.Argument(metavar=value, help=about, show_default=False, parser=path)


ArtworkPath = Annotated[Path, plain("ARTWORK", "The picture.")]
RecipePath = Annotated[
    Path | None, named("--recipe", about="Settings of the job.", value="R.toml", read=path)
]
Preset = Annotated[str | None, named("--preset", about="Named settings to start from.", value="NAME")]
Width = Annotated[
    float | None, named("--width", about="Width of the artwork in mm.", value="MM", read=number)
]
Height = Annotated[
    float | None, named("--height", about="Height of the artwork in mm.", value="MM", read=number)
]
_COLORS = f"Flat colors, 1 to {MOST_COLORS}, background not counted."
Colors = Annotated[int | None, named("--colors", about=_COLORS, value="N", read=whole)]
Sets = Annotated[
    list[str] | None, named("--set", about="One setting; may be repeated.", value="SECTION.KEY=VALUE")
]
Json = Annotated[bool, named("--json", about="Print the report as JSON on stdout.")]
Quiet = Annotated[bool, named("--quiet", "-q", about="Show errors only.")]
Verbose = Annotated[bool, named("--verbose", "-v", about="Show the time of each stage.")]
Replace = Annotated[bool, named("--replace", about="Let it replace files that no earlier run of this wrote.")]
Stages = Annotated[
    Path | None,
    named("--keep-stages", about="Keep stage values for the next run.", value="DIR", read=path),
]
