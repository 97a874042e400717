"""Write pages of the public functions and classes: `python .ci/api.py`, with the extra `docs` (pdoc)."""

from __future__ import annotations

import argparse
from pathlib import Path

import reliefsmith

ROOT = Path(__file__).resolve().parents[1]
ROOMS = (
    "errors",
    "findings",
    "recipe",
    "walk",
    "jobs",
    "model",
    "polygons",
    "mesh",
    "colorimetry",
    "formats",
)
"""What a script imports from beside the face; stages are called by the walk."""


def main() -> None:
    """Write the pages from the command line."""
    import pdoc  # noqa: PLC0415 - the rooms are to be had without it

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-o", "--out", type=Path, default=ROOT / "out" / "api")
    out = parser.parse_args().out
    for name in reliefsmith.__all__:  # the face imports them on first use, and pdoc looks at what is there
        setattr(reliefsmith, name, getattr(reliefsmith, name))
    pdoc.render.configure(docformat="numpy", footer_text=f"reliefsmith {reliefsmith.__version__}")
    pdoc.pdoc("reliefsmith", *(f"reliefsmith.{room}" for room in ROOMS), output_directory=out)
    print(out / "index.html")


if __name__ == "__main__":
    main()
