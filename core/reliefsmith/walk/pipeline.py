"""The walk of one picture through the stages: order, memo, progress, cancel."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ..findings import Finding
from ..model import FlatAreas, Inspection, Part, PictureBytes, Plan, Result, Stack
from ..progress import Progress, Steps, drain, labelled
from ..recipe import Recipe
from ..recipe.audience import suited
from .colornames import colors_told
from .fit import check_carried, fit_steps, with_places
from .inputs import (
    Given,
    GivenHand,
    GivenRecipe,
    as_fonts,
    as_hand,
    as_picture,
    as_recipe,
    named_files,
    recipe_files,
    stem_of,
)
from .keys import fonts_key, picture_id, picture_key, stage_key, value_key
from .painted import painted
from .secondpicture import as_second, second_steps
from .stages import STAGES, after, taken_from
from .store import MemoryStore, Store

__all__ = ["Job", "Relief", "find_areas", "make"]


class Job:
    """One picture whose relief is made, and made again when settings change.

    A stage runs only when its input or its own settings changed; values are kept in `store` under a key of
    the picture's bytes, those settings and the stage's version, so other jobs and processes can share them.

    Parameters
    ----------
    picture : path, bytes or array
        The picture's file, its bytes, or an array (height, width, 3 or 4) of uint8.
    store : Store, optional
        Where stage values are kept; in memory by default.
    hand : HandRelief or array, optional
        Hand relief, which stands above the file that the recipe names.

    Examples
    --------
    >>> import numpy as np
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> job, recipe = Job(picture), Recipe()
    >>> thin = job.relief(recipe)
    >>> thick = job.relief(recipe.with_values({"heights.base_mm": 3.0}))
    >>> thick.areas is thin.areas, thick.stack.layer_tops_mm[-1] - thin.stack.layer_tops_mm[-1]
    (True, 1.0)
    """

    def __init__(self, picture: Given, store: Store | None = None, hand: GivenHand = None) -> None:
        self.picture = as_picture(picture)
        self.store: Store = MemoryStore() if store is None else store
        self.hand = hand

    def steps(self, recipe: Recipe, last: str = "matching") -> Steps[dict[str, Any]]:
        """Run the stages up to `last` in small steps; the value maps each stage's name to its value.

        Beside them it holds "picture", what was read, and "picture_id", by what it is known again.
        Closing the generator cancels the run; what earlier stages came to stays in the store.
        """
        yield Progress("reading the picture", stage=STAGES[0].name)
        recipe = suited(recipe)
        if recipe.size.measure == "piece" and "hung" in after(last):
            recipe = yield from fit_steps(self._walk, recipe)
        return (yield from self._walk(recipe, last))

    def _walk(self, recipe: Recipe, last: str) -> Steps[dict[str, Any]]:
        """Run the stages up to `last` of a recipe whose size is the artwork's, whatever it measures."""
        values, keys = self._given(recipe, last)
        for stage in STAGES:
            if stage.name == "backed":
                values["back"] = yield from second_steps(values["second"], recipe, self._of_another)
                keys["back"] = value_key(values["back"])
            for name in (name for name in stage.takes if "." in name):
                keys[name] = value_key(taken_from(values, name))
            keys[stage.name] = stage_key(stage, keys, recipe)
            value = self.store.get(stage.name, keys[stage.name])
            if value is None:
                value = yield from labelled(stage.name, stage.run(values, recipe))
                self.store.put(stage.name, keys[stage.name], value)
            values[stage.name] = value
            if stage.name == "flat":
                check_carried(recipe.form, value.size_mm)
                recipe = with_places(recipe, value)
            if stage.name == "parts" and recipe.filaments.parts:
                values |= painted(values, recipe.filaments.parts)
            yield Progress(stage.label, 1.0, stage.name)
            if stage.name == last:
                break
        return values

    def _given(self, recipe: Recipe, last: str) -> tuple[dict[str, Any], dict[str, str]]:
        """Return what the stages up to `last` are given, looked at before any work, and its keys."""
        keys = {"picture": picture_key(self.picture, recipe.artwork)}
        known = picture_id(self.picture, keys["picture"])
        values: dict[str, Any] = {"picture": self.picture, "picture_id": known}
        if "handed" in after(last):
            values["hand"] = as_hand(self.hand, recipe)
            keys["hand"] = value_key(values["hand"])
        if "inscribed" in after(last):
            values["fonts"] = as_fonts(recipe)
            keys["fonts"] = fonts_key(values["fonts"])
        if "backed" in after(last):
            values["second"] = as_second(recipe)
        return values, keys

    def _of_another(self, picture: PictureBytes, recipe: Recipe) -> Steps[dict[str, Any]]:
        return Job(picture, self.store)._walk(recipe, "flat")

    def relief_steps(self, recipe: Recipe) -> Steps[Relief]:
        """Make the relief in small steps."""
        recipe = suited(recipe)
        values = yield from self.steps(recipe)
        return Relief(
            Result.of_stages(values, stem_of(self.picture), recipe),
            (*((self.picture,) if isinstance(self.picture, Path) else ()), *named_files(recipe)),
        )

    def relief(self, recipe: Recipe, on_progress: Callable[[Progress], None] | None = None) -> Relief:
        """Make the relief."""
        return drain(self.relief_steps(recipe), on_progress)


@dataclass(frozen=True, slots=True)
class Relief:
    """The printable set: parts, plan, findings, and the files of it.

    Parameters
    ----------
    result : Result
    inputs : tuple of Path
        Files that it was made from, which its own files never replace.

    Examples
    --------
    >>> import numpy as np
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> relief = make(picture)
    >>> relief.printable, [part.name for part in relief.parts_below(1.0)]
    (True, ['base'])
    """

    result: Result
    inputs: tuple[Path, ...] = ()

    @property
    def parts(self) -> tuple[Part, ...]:
        """Closed solids, base first."""
        return self.result.parts

    @property
    def plan(self) -> Plan:
        """The piece seen from above."""
        return self.result.plan

    @property
    def areas(self) -> FlatAreas:
        """The artwork's areas before any change."""
        return self.result.areas

    @property
    def stack(self) -> Stack:
        """Heights on layers."""
        return self.result.stack

    @property
    def inspection(self) -> Inspection:
        """Findings on the parts and the estimate."""
        return self.result.inspection

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, the gravest first."""
        return self.result.findings

    @property
    def printable(self) -> bool:
        """Whether no finding says not to print."""
        return self.result.printable

    def parts_below(self, height_mm: float, *, finished: bool = False) -> tuple[Part, ...]:
        """Return the parts cut off flat at a height, closed, as printed or as the finished piece, front up.

        Raises
        ------
        GeometryError
            If nothing lies below it.
        """
        from ..solid.cut import parts_below

        return parts_below(self.stack, height_mm, finished=finished)

    def write_steps(self, folder: str | Path, *, replace: bool = False) -> Steps[Mapping[str, object]]:
        """Write all files in small steps; the value is the report."""
        from ..formats.setwriting import Claim, given_folder
        from .output import write_steps

        return write_steps(self.result, given_folder(folder), Claim(self.inputs, replace))

    def write(self, folder: str | Path, *, replace: bool = False) -> Mapping[str, object]:
        """Write all files into a folder, the report last, and return the report.

        Files that an earlier run of the same picture wrote there are replaced, and with `replace` also those
        of others; never one that the relief was made from.

        Raises
        ------
        TakenError
            If another file would be replaced; then nothing is written.
        OutputError
            If a file cannot be written; then no new file is left.
        """
        return drain(self.write_steps(folder, replace=replace))


def make(
    picture: Given,
    recipe: GivenRecipe = None,
    *,
    store: Store | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    hand: GivenHand = None,
) -> Relief:
    """Make the relief of a picture.

    Parameters
    ----------
    picture : path, bytes or array
        A picture's file, its bytes, or an array (height, width, 3 or 4) of uint8 in sRGB.
    recipe : Recipe, mapping or path, optional
        All settings, a table of those that differ, or the TOML file that holds them; the defaults otherwise.
    store : Store, optional
        Where stage values are kept for the next run.
    on_progress : callable, optional
        Called with every `Progress`.
    hand : HandRelief or array, optional
        Heights above the generated top: framed, or an array (height, width) of mm that covers the picture. It
        stands above the file that the recipe names.

    Raises
    ------
    ReliefsmithError
        In one plain line, if the picture, the recipe or the geometry cannot be used.

    Examples
    --------
    >>> import numpy as np
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> relief = make(picture, {"size": {"width_mm": 40}})
    >>> [part.name for part in relief.parts], round(relief.plan.artwork_mm[0], 1)
    (['base', 'red'], 40.0)
    """
    with colors_told(picture):
        settings = as_recipe(recipe)
    relief = Job(picture, store, hand).relief(settings, on_progress)
    return replace(relief, inputs=(*relief.inputs, *recipe_files(recipe)))


def find_areas(
    picture: Given,
    recipe: GivenRecipe = None,
    *,
    store: Store | None = None,
    on_progress: Callable[[Progress], None] | None = None,
) -> FlatAreas:
    """Find only the flat-color areas of a picture, in mm, with the recipe's marks applied.

    Examples
    --------
    >>> import numpy as np
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> areas = find_areas(picture)
    >>> [round(side, 1) for side in areas.size_mm], areas.color_at(0, 0)
    ([68.0, 54.4], (200, 40, 45))
    """
    with colors_told(picture):
        settings = as_recipe(recipe)
    areas: FlatAreas = drain(Job(picture, store).steps(settings, "marked"), on_progress)["marked"]
    return areas
