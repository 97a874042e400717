"""What the form of a piece carries with it: its own caution, and texts that are still the preset's."""

from __future__ import annotations

from collections.abc import Sequence

from ..findings import Finding, finding
from ..recipe.sections import FormSettings, Inscription

__all__ = ["form_findings"]


def form_findings(form: FormSettings, lettering: Sequence[Inscription]) -> tuple[Finding, ...]:
    """Return the caution of a form, and a warning for each text that has its example words.

    Examples
    --------
    >>> coaster = FormSettings(kind="coaster", caution="Softens under a hot cup.")
    >>> [item.message for item in form_findings(coaster, ())]
    ['Coaster: Softens under a hot cup.']
    """
    found = []
    if form.caution:
        words = f"{form.kind.capitalize()}: {form.caution}" if form.kind else form.caution
        found.append(finding("form-caution", words))
    for number, item in enumerate(lettering, start=1):
        if form.example and form.example in item.text:
            words = (
                f"Text {number} still has {form.example!r} in it, which stands for the customer's own words:"
                f" set lettering.{number}.text."
            )
            found.append(finding("text-example", words))
    return tuple(found)
