"""The stages in their order: what each takes, which settings it depends on, and which function does it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from ..progress import Steps
from ..recipe import Recipe

__all__ = ["STAGES", "Stage", "after", "taken_from"]


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the walk.

    Parameters
    ----------
    name : str
        Also the name of its value in the store.
    label : str
        What is being done, for a progress bar.
    function : str
        "module:steps" below `reliefsmith`; imported when the stage first runs.
    takes : tuple of str
        Names of the stages whose values it takes, in order; "picture" is the path of the file, "hand" the
        hand relief as it was given, "fonts" the font of each text, "back" the areas of the second picture.
        After a dot stands the one field that is taken: then the stage runs again only where that field is
        another.
    settings : tuple of str
        Recipe sections it gets, as keywords where there are several; the memo key holds just these.
    version : int
        Raised whenever the same input gives another value.
    spared : tuple of str
        Of what it takes, what it gets as None where that is not at hand.
    """

    name: str
    label: str
    function: str
    takes: tuple[str, ...]
    settings: tuple[str, ...]
    version: int = 1
    spared: tuple[str, ...] = ()

    def run(self, values: dict[str, Any], recipe: Recipe) -> Steps[Any]:
        """Start the stage's generator on the values of earlier stages."""
        module, _, name = self.function.partition(":")
        steps: Callable[..., Steps[Any]] = getattr(import_module(f"reliefsmith.{module}"), name)
        at_hand = {**dict.fromkeys(self.spared), **values}
        taken = [taken_from(at_hand, name) for name in self.takes]
        if len(self.settings) == 1:
            return steps(*taken, getattr(recipe, self.settings[0]))
        return steps(*taken, **{key: getattr(recipe, key) for key in self.settings})


STAGES: tuple[Stage, ...] = (
    Stage("artwork", "reading the picture", "artwork.read:read_steps", ("picture",), ("artwork",), 19),
    Stage(
        "separation",
        "finding flat colors",
        "color.separate:separate_steps",
        ("artwork",),
        ("background", "flat_colors"),
        19,
    ),
    Stage(
        "traced", "drawing boundaries", "areas.trace:trace_steps", ("artwork", "separation"), ("areas",), 6
    ),
    Stage(
        "surrounded",
        "looking for ground that is the picture's",
        "areas.surrounded:surround_steps",
        ("traced",),
        ("background", "flat_colors"),
        2,
    ),
    Stage("flat", "scaling to millimetres", "areas.scale:scale_steps", ("surrounded",), ("size",), 3),
    Stage("marked", "correcting by hand", "areas.marks:mark_steps", ("flat",), ("area_marks",), 4),
    Stage(
        "outlined",
        "shaping the base",
        "plan.base.outline:outline_steps",
        ("marked", "flat"),
        ("base", "colors", "background", "base_stock", "printer", "pieces", "outline_marks"),
        6,
    ),
    Stage(
        "inscribed",
        "setting texts",
        "plan.inscriptions.inscribe:inscribe_steps",
        ("outlined.base", "fonts"),
        ("lettering", "base", "motif", "printer"),
        5,
    ),
    Stage(
        "mended",
        "making strokes printable",
        "plan.strokes.repair:mend_steps",
        ("outlined.drawing", "marked"),
        ("motif", "printer", "stroke_marks"),
        6,
    ),
    Stage(
        "repaired",
        "widening the base",
        "plan.base.carry:carry_steps",
        ("outlined", "mended", "inscribed.ground"),
        ("base", "printer", "outline_marks"),
        2,
    ),
    Stage(
        "connected",
        "joining pieces",
        "plan.links.connect:connect_steps",
        ("repaired",),
        ("pieces", "base", "link_marks"),
        2,
    ),
    Stage(
        "hung",
        "placing the hole",
        "plan.hang.hang:hang_steps",
        ("connected", "inscribed.reserved"),
        ("hang", "heights", "printer", "base"),
        7,
    ),
    Stage(
        "backed",
        "laying a picture into the back",
        "plan.backside.laying:lay_steps",
        ("hung", "back", "inscribed.behind"),
        ("back", "base", "motif", "printer"),
        2,
    ),
    Stage(
        "lettered",
        "joining texts",
        "plan.inscriptions.join:join_steps",
        ("backed", "inscribed", "fonts"),
        ("lettering", "base", "motif", "printer", "heights"),
        6,
    ),
    Stage(
        "stood",
        "adding tongues for feet",
        "plan.standing.tongues:tongue_steps",
        ("lettered",),
        ("stand", "heights", "base", "printer"),
    ),
    Stage(
        "divided",
        "cutting for the bed",
        "plan.division.divide:divide_steps",
        ("stood",),
        ("seams", "heights", "printer", "beds", "base", "motif"),
        5,
    ),
    Stage("handed", "placing the hand relief", "solid.handplaced:handed_steps", ("marked", "hand"), ()),
    Stage(
        "lettering",
        "looking for lettering",
        "plan.lettering.fineness:lettering_steps",
        ("marked", "hung.base_color", "hung.piece_mm"),
        ("motif", "printer", "size"),
        2,
    ),
    Stage(
        "sampled",
        "looking at the picture",
        "checks.sample:sample_steps",
        ("artwork", "separation", "flat", "marked"),
        ("background",),
        4,
        ("artwork", "separation", "flat"),
    ),
    Stage(
        "compared",
        "comparing with the picture",
        "checks.compare:compare_steps",
        ("sampled", "hung.above", "lettering"),
        (),
        2,
    ),
    Stage(
        "stacked",
        "setting heights",
        "solid.stacking:stack_steps",
        ("divided", "artwork", "handed"),
        ("heights", "printer", "base", "filaments"),
        3,
        ("artwork",),
    ),
    Stage("parts", "building solids", "solid.build:build_steps", ("stacked",), (), 3),
    Stage(
        "accessories",
        "building what goes with it",
        "solid.accessories:accessory_steps",
        ("divided", "stacked"),
        ("stand", "handle", "housing", "heights", "printer"),
        3,
    ),
    Stage(
        "inspection",
        "checking",
        "checks.inspect:inspect_steps",
        ("divided", "stacked", "parts", "accessories"),
        ("heights", "printer", "hang", "cost", "filaments", "audience", "form", "lettering"),
        8,
    ),
    Stage(
        "matching",
        "matching filaments",
        "checks.matching:match_steps",
        ("stacked", "parts", "inspection"),
        ("filaments", "order"),
    ),
)


def taken_from(values: Mapping[str, Any], name: str) -> Any:
    """Return the value of a stage, or the field of it that is named after a dot."""
    stage, _, field = name.partition(".")
    return getattr(values[stage], field) if field else values[stage]


def after(name: str) -> tuple[str, ...]:
    """Return the names of the stages up to and including `name`."""
    names = [stage.name for stage in STAGES]
    return tuple(names[: names.index(name) + 1])
