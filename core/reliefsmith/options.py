"""The words that several commands share, each declared once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from .sections.limits import MOST_COLORS
from .words import Option, Positional

__all__ = ["ArtworkPath", "Colors", "Height", "Json", "Preset", "Quiet", "RecipePath", "Replace", "Sets"]
__all__ += ["Stages", "Verbose", "Width"]

ArtworkPath = Annotated[Path, Positional("ARTWORK", "The picture.")]
RecipePath = Annotated[Path | None, Option(("--recipe",), "Settings of the job.", "R.toml")]
Preset = Annotated[str | None, Option(("--preset",), "Named settings to start from.", "NAME")]
Width = Annotated[float | None, Option(("--width",), "Width of the artwork in mm.", "MM")]
Height = Annotated[float | None, Option(("--height",), "Height of the artwork in mm.", "MM")]
Colors = Annotated[
    int | None, Option(("--colors",), f"Flat colors, 1 to {MOST_COLORS}, background not counted.", "N")
]
Sets = Annotated[list[str] | None, Option(("--set",), "One setting; may be repeated.", "SECTION.KEY=VALUE")]
Json = Annotated[bool, Option(("--json",), "Print the report as JSON on stdout.")]
Quiet = Annotated[bool, Option(("--quiet", "-q"), "Show errors only.")]
Verbose = Annotated[bool, Option(("--verbose", "-v"), "Show the time of each stage.")]
Replace = Annotated[bool, Option(("--replace",), "Let it replace files that no earlier run of this wrote.")]
Stages = Annotated[Path | None, Option(("--keep-stages",), "Keep stage values for the next run.", "DIR")]
