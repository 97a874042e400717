"""Everything that one job came to, as documents and writers need it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ..findings import Finding, Note, Severity
from ..recipe import Recipe
from .accessory import Accessory
from .areas import FlatAreas
from .arrays import Color
from .artwork import FoundSheet, PictureBytes
from .fidelity import Fidelity
from .filaments import Matching
from .hand import HandRelief
from .inscribed import FontFile
from .lettering import Lettering
from .parts import Inspection, Part
from .plan import Plan
from .stack import Stack

__all__ = ["Approval", "PictureId", "Result"]


@dataclass(frozen=True, slots=True)
class PictureId:
    """Which picture a job is of: by either, a later run knows the files of an earlier one as its own.

    Parameters
    ----------
    name : str
        Of its file, without folders; empty for a picture from memory.
    sha256 : str
        Of its file's bytes.
    """

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Approval:
    """What a customer approves.

    Parameters
    ----------
    digest : str
        SHA-256, in hexadecimal, of the geometry files, the recipe and the text as it is read.
    code : str
        Short for it, to be read out or typed in.
    """

    digest: str
    code: str


@dataclass(frozen=True, slots=True)
class Result:
    """The values of the stages of one job.

    Parameters
    ----------
    stem : str
        Safe file stem; all file names start with it.
    recipe : Recipe
        As used, with every setting.
    picture : PictureId or None
        What it was made from.
    fidelity : Fidelity or None
        How much of the picture it shows; None where the picture's pixels are not at hand.
    hand : HandRelief or None
        What a hand added to the tops.
    lettering : Lettering
        Lines of letters among the areas.
    sheet : FoundSheet or None
        Which sheet of paper was found in the picture.
    approval : Approval or None
        Of which files the proof is; known once they are written, before it is drawn.
    artwork_kind : str or None
        What the picture was taken for, as `Artwork.kind`; None where the picture is not at hand.
    drawn : mapping of color
        The colors that the picture has, by the names of parts, where some are printed in others.
    fonts : tuple of FontFile
        The font of each text of the recipe.
    accessories : tuple of Accessory
        What goes with the piece and is printed apart from it.
    second : PictureBytes or None
        The second picture, which the back shows.
    """

    stem: str
    recipe: Recipe
    areas: FlatAreas
    plan: Plan
    stack: Stack
    parts: tuple[Part, ...]
    inspection: Inspection
    matching: Matching = field(default_factory=Matching)
    picture: PictureId | None = None
    fidelity: Fidelity | None = None
    hand: HandRelief | None = None
    lettering: Lettering = field(default_factory=Lettering)
    sheet: FoundSheet | None = None
    approval: Approval | None = None
    artwork_kind: str | None = None
    drawn: Mapping[str, Color] = field(default_factory=dict)
    fonts: tuple[FontFile, ...] = ()
    accessories: tuple[Accessory, ...] = ()
    second: PictureBytes | None = None

    @classmethod
    def of_stages(cls, values: Mapping[str, Any], stem: str, recipe: Recipe) -> Result:
        """Gather what the stages came to, by their names; beside them stands "picture_id".

        Of a kept plan there is no "artwork".
        """
        artwork = values.get("artwork")
        return cls(
            stem=stem,
            recipe=recipe,
            areas=values["marked"],
            plan=values["divided"],
            stack=values["stacked"],
            parts=values["parts"],
            inspection=values["inspection"],
            matching=values["matching"],
            picture=values["picture_id"],
            fidelity=values["compared"],
            hand=values["handed"],
            lettering=values["lettering"],
            sheet=None if artwork is None else artwork.sheet,
            artwork_kind=None if artwork is None else artwork.kind,
            drawn=values.get("drawn", {}),
            fonts=values["fonts"],
            accessories=values["accessories"],
            second=values["second"],
        )

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, the gravest first, in a stable order."""
        rank = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}
        found = (
            *self.plan.findings,
            *self.lettering.findings,
            *(self.fidelity.findings if self.fidelity else ()),
            *self.stack.findings,
            *self.inspection.findings,
            *self.matching.findings,
        )
        return tuple(sorted(found, key=lambda item: rank[item.severity]))

    @property
    def printable(self) -> bool:
        """Whether no finding says not to print."""
        return all(item.severity is not Severity.STOP for item in self.findings)

    @property
    def notes(self) -> tuple[Note, ...]:
        """All changes that were made, in the order of the work."""
        return (*self.plan.notes, *self.stack.notes)
