"""A virtual screen with a windowed Blender on it: clicks go in, answers and pictures come out."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[3]
SIZE = (1280, 800)
_START_S, _ORDER_S = 300.0, 300.0  # where other work goes on beside
LIBRARIES = ROOT / ".blender" / "window-libraries"
_missing = [word for word in ("blender", "Xvfb", "xdotool", "import") if shutil.which(word) is None]
needs_window = pytest.mark.skipif(
    bool(_missing) or not LIBRARIES.exists(), reason="needs `check.py --window`"
)


class Desk:
    """One virtual screen and one Blender; a context manager that ends both."""

    def __init__(self, out: Path) -> None:
        self.out = out
        self.out.mkdir(parents=True, exist_ok=True)

    def __enter__(self) -> Desk:
        width, height = SIZE
        screen = ["-screen", "0", f"{width}x{height}x24", "+extension", "GLX", "-noreset"]
        read, write = os.pipe()
        self._screen = subprocess.Popen(
            ["Xvfb", "-displayfd", str(write), *screen], pass_fds=[write], stderr=subprocess.DEVNULL
        )
        os.close(write)
        with os.fdopen(read) as answer:
            number = answer.readline().strip()
        self._env = {**os.environ, "DISPLAY": f":{number}", "LIBGL_ALWAYS_SOFTWARE": "1"}
        self._env |= {"PYTHONPATH": str(LIBRARIES), "PYTHONDONTWRITEBYTECODE": "1"}
        place = ["-p", "0", "0", str(width), str(height)]
        inside = ["--python", str(Path(__file__).with_name("inside.py")), "--", str(self.out)]
        self._log = (self.out / "blender.log").open("w")
        self._blender = subprocess.Popen(
            ["blender", "--factory-startup", "--no-window-focus", *place, *inside],
            cwd=ROOT,
            env=self._env,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        self.order("value = 1", limit_s=_START_S)
        return self

    def __exit__(self, *_: object) -> None:
        for process in (self._blender, self._screen):
            process.kill()
            process.wait()
        self._log.close()

    def order(self, code: str, *, limit_s: float = _ORDER_S) -> Any:
        """Run code inside; it may set `value`, which comes back. An error inside is raised here."""
        answer = self.out / "answer.json"
        answer.unlink(missing_ok=True)
        (self.out / "order.tmp").write_text(code)
        (self.out / "order.tmp").rename(self.out / "order.py")
        end = time.monotonic() + limit_s
        while not answer.exists():
            if self._blender.poll() is not None:
                raise RuntimeError(f"Blender ended: {(self.out / 'blender.log').read_text()[-2000:]}")
            if time.monotonic() > end:
                raise TimeoutError((self.out / "blender.log").read_text()[-2000:])
            time.sleep(0.05)
        given = json.loads(answer.read_text())
        if "error" in given:
            raise RuntimeError(given["error"])
        return given["value"]

    def place(self, x: float, y: float, z: float) -> tuple[int, int]:
        """Return where a place of the scene is on the screen, y down."""
        code = (
            "from bpy_extras.view3d_utils import location_3d_to_region_2d as seen\n"
            f"at = seen(regions['WINDOW'], space.region_3d, ({x}, {y}, {z}))\n"
            "value = [regions['WINDOW'].x + at.x, window.height - regions['WINDOW'].y - at.y]"
        )
        found = self.order(code)
        return round(found[0]), round(found[1])

    def wait(self, condition: str, *, limit_s: float = 300.0) -> None:
        """Wait until an expression is true inside."""
        end = time.monotonic() + limit_s
        while not self.order(f"value = bool({condition})"):
            if time.monotonic() > end:
                raise TimeoutError(condition)
            time.sleep(0.2)

    def click(self, x: int, y: int) -> None:
        """Click at a place of the screen, y down."""
        self._point(x, y)
        self._tool("click", "1")
        time.sleep(0.5)

    def drag(self, begin: tuple[int, int], end: tuple[int, int], *, drop: bool = True) -> None:
        """Drag from one place of the screen to another, in steps; without `drop` the button stays down."""
        self._point(*begin)
        self._tool("mousedown", "1")
        time.sleep(0.5)  # the press is told with the place of the pointer by then
        for share in (0.25, 0.5, 0.75, 1.0):
            at = [round(a + share * (b - a)) for a, b in zip(begin, end, strict=True)]
            self._tool("mousemove", str(at[0]), str(at[1]))
            time.sleep(0.2)
        if drop:
            self._tool("mouseup", "1")
        time.sleep(0.5)

    def key(self, name: str) -> None:
        """Press a key."""
        self._tool("key", name)
        time.sleep(0.3)

    def move(self, x: int, y: int) -> None:
        """Move the pointer."""
        self._point(x, y)

    def shot(self, name: str) -> Path:
        """Take a picture of the screen."""
        self._point(20, SIZE[1] - 30)
        for _ in range(2):  # a panel takes its new height in the redraw after the first
            self.order("for item in window.screen.areas: item.tag_redraw()")
            time.sleep(0.5)
        path = self.out / f"{name}.png"
        subprocess.run(["import", "-window", "root", str(path)], env=self._env, check=True)
        return path

    def _point(self, x: int, y: int) -> None:
        self._tool("mousemove", str(x), str(y))
        time.sleep(0.1)
        self._tool("mousemove_relative", "1", "0")
        time.sleep(0.15)

    def _tool(self, *words: str) -> None:
        subprocess.run(["xdotool", *words], env=self._env, check=True)
