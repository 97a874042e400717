"""Make the pictures of the add-on's guide small: `python tests/addon/window/guide.py DIR`.

DIR holds the pictures that `test_workflow.py` left there (RELIEFSMITH_SHOTS).
"""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image

DOCS = Path(__file__).parents[3] / "addon" / "docs"
WIDTH_PX, COLORS = 700, 128
TOP_PX = 20  # of the window's own bar


def main() -> None:
    """Cut off the window's bars, reduce, and write with a palette."""
    for path in sorted(Path(sys.argv[1]).glob("guide_*.png")):
        with Image.open(path) as shot:
            wide, high = shot.size
            view = shot.convert("RGB").crop((0, TOP_PX, wide, high - 2 * TOP_PX))
        small = view.resize((WIDTH_PX, round(view.height * WIDTH_PX / wide)), Image.Resampling.LANCZOS)
        out = DOCS / f"{path.stem.replace('_', '-')}.png"
        small.quantize(COLORS, kmeans=2, dither=Image.Dither.NONE).save(out, optimize=True)
        print(f"{out.name} {out.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
