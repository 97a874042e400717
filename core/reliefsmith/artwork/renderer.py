"""The renderer of drawings, in a process of its own: what it dies of, takes for ever or hoards ends there."""

from __future__ import annotations

import importlib.util
import math
import os
import subprocess
import sys
from contextlib import ExitStack
from importlib import resources
from pathlib import Path

from ..errors import ArtworkError
from ..recipe.sections import ArtworkSettings

__all__ = ["drawn_png", "python_here"]

_WALL_TO_CPU = 6
"""Waited for so many times the work that is allowed: the machine may be busy with other things."""
_USUAL = ArtworkSettings()
_FONTS = ("Lato-Regular.ttf", "Lato-Bold.ttf")

# Loaded from its file, so that the child needs no search path but Python's own.
_CHILD = """
import importlib.util, os, sys
source, cpu, memory, *fonts = sys.argv[1:]
try:
    import resource
    for kind, most in ((resource.RLIMIT_CPU, cpu), (resource.RLIMIT_AS, memory), (resource.RLIMIT_CORE, 0)):
        resource.setrlimit(kind, (int(most), int(most)))
except (ImportError, ValueError, OSError):
    pass
places = [os.path.dirname(source)]
spec = importlib.util.spec_from_file_location("resvg_py", source, submodule_search_locations=places)
module = sys.modules["resvg_py"] = importlib.util.module_from_spec(spec)
spec.loader.exec_module(module)
kinds = ("font", "serif", "sans_serif", "cursive", "fantasy", "monospace")
families = {kind + "_family": "Lato" for kind in kinds}
text = sys.stdin.buffer.read().decode("utf-8", "replace")
try:
    # 96 dpi is CSS pixels; without it physical units have no size.
    png = module.svg_to_bytes(svg_string=text, skip_system_fonts=True, font_files=fonts, dpi=96.0, **families)
except ValueError as error:
    sys.stdout.buffer.write(b"refused: " + str(error).encode("utf-8", "replace"))
else:
    sys.stdout.buffer.write(bytes(png))
"""
_REFUSED = b"refused: "


def python_here() -> str | None:
    """Return the Python that runs this, or None.

    Inside another program `sys.executable` may be that program, which must not be started with our words.
    """
    if Path(sys.executable or "").name.lower().startswith("python"):
        return sys.executable
    folder = Path(sys.prefix) if os.name == "nt" else Path(sys.prefix) / "bin"
    names = (f"python{sys.version_info.major}.{sys.version_info.minor}", "python3", "python.exe")
    return next((str(folder / name) for name in names if (folder / name).is_file()), None)


def drawn_png(text: str, name: str, artwork: ArtworkSettings = _USUAL) -> bytes:
    """Draw an SVG that has been made safe; the value is a PNG picture.

    Text is drawn in the shipped font only, so that the result does not depend on installed fonts.

    Raises
    ------
    ArtworkError
        If it cannot be drawn, or not within the time and memory of the settings, or the renderer dies of it.
    """
    spec = importlib.util.find_spec("resvg_py")
    if spec is None or spec.origin is None:
        raise ArtworkError(
            f"drawing {name} needs the package resvg-py; install it or save the drawing as PNG"
        )
    python = python_here()
    if python is None:
        raise ArtworkError(
            f"drawing {name} cannot be drawn here: the program has no Python beside it"
            " to draw it apart; save it as PNG"
        )
    with ExitStack() as stack:
        folder = resources.files("reliefsmith_data") / "fonts"
        fonts = [str(stack.enter_context(resources.as_file(folder / font))) for font in _FONTS]
        command = [
            python,
            "-I",
            "-c",
            _CHILD,
            spec.origin,
            str(math.ceil(artwork.max_draw_s)),
            str(int(artwork.max_draw_gib * 2**30)),
            *fonts,
        ]
        try:
            done = subprocess.run(  # noqa: S603 - this Python and a fixed text
                command,
                input=text.encode("utf-8", "replace"),
                capture_output=True,
                timeout=_WALL_TO_CPU * artwork.max_draw_s,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise ArtworkError(
                f"drawing {name} takes too long to draw; "
                "simplify it, save it as PNG or raise artwork.max_draw_s"
            ) from error
        except (OSError, ValueError) as error:
            raise ArtworkError(f"drawing {name} cannot be drawn here: {error}; save it as PNG") from error
    if done.stdout.startswith(_REFUSED):
        reason = done.stdout.removeprefix(_REFUSED).decode("utf-8", "replace").strip().splitlines()[:1]
        raise ArtworkError(f"drawing {name} cannot be drawn: {reason[0] if reason else 'unknown reason'}")
    if done.returncode != 0:
        raise ArtworkError(
            f"drawing {name} is more than the renderer can draw in {artwork.max_draw_s:g} s and "
            f"{artwork.max_draw_gib:g} GiB; simplify it, save it as PNG or raise artwork.max_draw_s "
            "or artwork.max_draw_gib"
        )
    return done.stdout
