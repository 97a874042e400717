"""A headless browser driven over a pipe by its debugging protocol, without any driver package."""

from __future__ import annotations

import base64
import itertools
import json
import os
import select
import shutil
import subprocess
import time
from pathlib import Path

SILENCE_S = 300.0
"""Only a browser that hangs says nothing for so long."""
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-pipe",
)


def browser_path() -> str | None:
    """Return the browser's program, or None where there is none."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Browser:
    """One tab of a headless browser; what its console says and what it asks the network for is kept."""

    def __init__(self, folder: Path) -> None:
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        program = browser_path()
        assert program is not None
        command = ["/bin/bash", "-c", f'exec "$@" 3<&{to_read} 4>&{to_write}', "bash", program, *FLAGS]
        self._process = subprocess.Popen(
            [*command, f"--user-data-dir={folder}", "about:blank"],
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)
        self._ids = itertools.count(1)
        self._rest = b""
        self._session: str | None = None
        self.events: list[dict] = []
        target = next(item for item in self("Target.getTargets")["targetInfos"] if item["type"] == "page")
        attached = self("Target.attachToTarget", targetId=target["targetId"], flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self(f"{domain}.enable")

    def __call__(self, method: str, **parameters) -> dict:
        """Send a command and return its answer; events that come meanwhile are kept."""
        number = next(self._ids)
        message = {"id": number, "method": method, "params": parameters}
        if self._session is not None:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._receive(SILENCE_S)
            if answer.get("id") == number:
                assert "error" not in answer, answer
                return answer["result"]

    def open(self, path: Path, settle: float = 0.5) -> None:
        """Open a file and wait until it is loaded."""
        self.events.clear()
        self("Page.navigate", url=path.as_uri())
        until = time.monotonic() + SILENCE_S
        while not any(item.get("method") == "Page.loadEventFired" for item in self.events):
            assert time.monotonic() < until, "the page does not load"
            self._receive(SILENCE_S)
        time.sleep(settle)
        self.value("1")

    def value(self, expression: str):
        """Evaluate an expression in the page, waiting for promises, and return its value."""
        answer = self("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def key(self, name: str) -> None:
        """Press and release a key, and wait for the next picture."""
        for kind in ("keyDown", "keyUp"):
            self("Input.dispatchKeyEvent", type=kind, key=name, code=name)
        self.value("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(1))))")

    def pdf(self, width_mm: float, height_mm: float) -> bytes:
        """Print the page on paper of a size."""
        size = {"paperWidth": width_mm / 25.4, "paperHeight": height_mm / 25.4}
        return base64.b64decode(self("Page.printToPDF", printBackground=False, **size)["data"])

    def complaints(self) -> list[str]:
        """Return errors and warnings of the console and exceptions of scripts."""
        found = []
        for item in self.events:
            method, what = item.get("method"), item.get("params", {})
            if method == "Runtime.exceptionThrown":
                found.append(str(what["exceptionDetails"]["text"]))
            if method == "Runtime.consoleAPICalled" and what["type"] in {"error", "warning", "assert"}:
                found.append(str(what["args"]))
            if method == "Log.entryAdded" and what["entry"]["level"] in {"error", "warning"}:
                found.append(str(what["entry"]["text"]))
        return found

    def requests(self) -> list[str]:
        """Return the addresses asked for, pictures inside the page left out."""
        sent = [
            item["params"]["request"]["url"]
            for item in self.events
            if item.get("method") == "Network.requestWillBeSent"
        ]
        return [url for url in sent if not url.startswith("data:")]

    def close(self) -> None:
        """End the browser."""
        self._process.terminate()
        self._process.wait(SILENCE_S)
        os.close(self._read)
        os.close(self._write)

    def _receive(self, seconds: float) -> dict:
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._read], [], [], seconds)
            assert ready, "the browser is silent"
            more = os.read(self._read, 1 << 20)
            assert more, "the browser has ended"
            self._rest += more
        line, self._rest = self._rest.split(b"\0", 1)
        message = json.loads(line)
        if "method" in message:
            self.events.append(message)
        return message
