"""What the command line shows: a progress bar by stage, stage times, a short summary. All of it on stderr."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cached_property
from typing import TYPE_CHECKING

from ..findings import Finding, Severity
from ..formats.stems import printable
from ..model import Result
from ..progress import Progress as Step

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["Screen"]

_MARKS = {
    Severity.STOP: ("[bold red]stop[/]", "do not print"),
    Severity.WARN: ("[yellow]warn[/]", "look at this"),
    Severity.NOTE: ("[dim]note[/]", ""),
}


class Screen:
    """Messages, progress and summary on stderr, as quiet or as chatty as asked.

    Parameters
    ----------
    quiet : bool
        Show errors only.
    verbose : bool
        Show the time of each stage.
    """

    def __init__(self, *, quiet: bool = False, verbose: bool = False) -> None:
        self.quiet = quiet
        self.verbose = verbose and not quiet

    @cached_property
    def console(self) -> Console:
        """Made when something is shown first, since its library takes a while to load."""
        from rich.console import Console

        plain = os.environ.get("TERM") == "dumb"
        return Console(stderr=True, highlight=False, no_color=True if plain else None)

    def say(self, text: str) -> None:
        """Show a line unless quiet."""
        if not self.quiet:
            self.console.print(_escaped(text), soft_wrap=True)

    @contextmanager
    def progress(self, stages: Iterable[tuple[str, str]]) -> Iterator[Callable[[Step], None]]:
        """Show a bar that moves with each stage; give the function that takes every step.

        Parameters
        ----------
        stages : iterable of (name, label)
            In their order.
        """
        clock = _Clock()
        with self._bar([name for name, _ in stages]) as move:

            def take(step: Step) -> None:
                clock.take(step.stage)
                move(step)

            yield take
        clock.take("")
        if self.verbose:
            for name, seconds in clock.seconds.items():
                self.console.print(f"{name:>12} {seconds * 1000:8.0f} ms", style="dim")

    @contextmanager
    def _bar(self, stages: Sequence[str]) -> Iterator[Callable[[Step], None]]:
        """Show the bar on a terminal; give the function that moves it to a step."""
        if self.quiet or not self.console.is_terminal:
            yield lambda _: None
            return
        from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn

        order = {name: number for number, name in enumerate(stages)}
        columns = (SpinnerColumn(), TextColumn("{task.description}"), BarColumn(bar_width=24))
        with Progress(*columns, console=self.console, transient=True) as bar:
            task = bar.add_task("starting", total=max(1, len(order)))

            def move(step: Step) -> None:
                done = order.get(step.stage, len(order) - 1) + min(step.fraction, 1.0)
                bar.update(task, description=_escaped(step.message), completed=done)

            yield move

    @contextmanager
    def rows(self, total: int, done: int) -> Iterator[Callable[[], None]]:
        """Show a bar of rows with their rate and the time left; give the function that moves it by one."""
        if self.quiet or not self.console.is_terminal:
            yield lambda: None
            return
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

        rate = TextColumn("{task.fields[rate]}")
        columns = (
            TextColumn("rows"),
            BarColumn(bar_width=24),
            MofNCompleteColumn(),
            rate,
            TimeRemainingColumn(),
        )
        begin, made = time.perf_counter(), 0
        with Progress(*columns, console=self.console, transient=True) as bar:
            task = bar.add_task("rows", total=total, completed=done, rate="")

            def move() -> None:
                nonlocal made
                made += 1
                bar.update(task, advance=1, rate=f"{60 * made / (time.perf_counter() - begin):.0f} a minute")

            yield move

    def summary(self, result: Result, size_mm: tuple[float, float, float], folder: str) -> None:
        """Show size, parts, color changes, mass, time and findings of a job."""
        if self.quiet:
            return
        from rich.table import Table

        estimate = result.inspection.estimate
        table = Table.grid(padding=(0, 2))
        table.add_column(style="bold")
        table.add_column()
        for name, text in _facts(result, size_mm):
            table.add_row(name, text)
        from ..colorimetry.words import to_hex

        for part in result.parts:
            swatch = f"[rgb({part.color[0]},{part.color[1]},{part.color[2]})]██[/]"
            hexa = to_hex(part.color)
            table.add_row(
                f"  {swatch}", f"{_escaped(part.name)} {hexa}, {_grams(estimate.mass_g[part.name])}"
            )
        self.console.print(table)
        self.findings(result.findings)
        self.say(f"written to {folder}")

    def findings(self, found: Iterable[Finding]) -> None:
        """Show findings, one a line."""
        if self.quiet:
            return
        for item in found:
            mark, advice = _MARKS[item.severity]
            tail = f" [dim]({advice})[/]" if advice else ""
            self.console.print(f"{mark} {_escaped(item.message)}{tail}", soft_wrap=True)


def _escaped(text: str) -> str:
    """Return text as it is shown: neither markup nor what would control a terminal."""
    from rich.markup import escape

    return escape(printable(text))


class _Clock:
    """Adds up the time between steps for the stage that was at work."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self._stage = ""
        self._since = time.perf_counter()

    def take(self, stage: str) -> None:
        now = time.perf_counter()
        if self._stage:
            self.seconds[self._stage] = self.seconds.get(self._stage, 0.0) + now - self._since
        self._stage, self._since = stage, now


def _grams(mass_g: float) -> str:
    """Write the mass of a part, which is never nothing."""
    return "under 0.1 g" if mass_g < 0.05 else f"{mass_g:.1f} g"


def _facts(result: Result, size_mm: tuple[float, float, float]) -> Iterator[tuple[str, str]]:
    width, depth, height = size_mm
    from ..documents.wording import hang_words

    estimate, stack = result.inspection.estimate, result.stack
    yield "size", f"{width:.1f} x {depth:.1f} x {height:.1f} mm"
    yield "hanging", hang_words(result)
    first = {change.layer for change in stack.color_changes}
    before = f"before layer{'s' * (len(first) > 1)} {', '.join(str(layer) for layer in sorted(first))}"
    yield "color changes", f"{estimate.changes}, {before}" if first else "none"
    yield "plastic", f"{estimate.mass_g_total:.1f} g"
    yield "time", f"about {estimate.time_min:.0f} min on the machine of the recipe, warm-up apart"
    yield "parts", str(len(result.parts))
