"""The contact page of finished sets: small proofs drawn from their solids, to be signed at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..documents.contact_page import SmallProof, contact_html
from ..errors import OutputError
from ..formats.claims import Claim, given_folder
from ..formats.setreading import REPORT_SUFFIX
from ..formats.setwriting import write_set
from ..formats.stems import printable
from ..walk.approval import approval_of_sets
from .cautioned import row_cautions
from .finished import Finished
from .units import Shapes, Unit

__all__ = ["write_contact"]

KIND = "contact"


def write_contact(sets: Sequence[Finished], output: str, *, named: bool, replace: bool) -> Mapping[str, Any]:
    """Draw the contact page and write it; the value is its report, with the code of all sets together.

    Parameters
    ----------
    sets : sequence of Finished
    output : str
    named : bool
        Whether it shows for whom each is and how that is spelled.
    replace : bool
        Whether files of others may be replaced.

    Raises
    ------
    OutputError
        If a set has no code of approval.
    """
    folder = given_folder(output)
    codes = {one.name: _approval(one) for one in sets}
    whole = approval_of_sets({name: digest for name, (digest, _) in codes.items()})
    shapes = Shapes()
    proofs = [_small(one, codes[one.name][1], shapes, named) for one in sets]
    files = {"contact.html": contact_html(proofs, whole, row_cautions(sets))}
    report = {
        "schema": 1,
        "kind": KIND,
        "approval": {"digest": whole.digest, "code": whole.code},
        "sets": {name: {"digest": digest, "code": code} for name, (digest, code) in codes.items()},
    }
    return write_set(folder, files, f"contact{REPORT_SUFFIX}", report, Claim((), replace))


def _approval(one: Finished) -> tuple[str, str]:
    found = one.report.get("approval")
    if not isinstance(found, dict) or not {"digest", "code"} <= set(found):
        raise OutputError(f"{printable(one.folder)} has no code of approval; make the set again")
    return str(found["digest"]), str(found["code"])


def _small(one: Finished, code: str, shapes: Shapes, named: bool) -> SmallProof:
    order = one.recipe.order
    said = tuple(words for words in (order.customer, order.spelling) if words) if named else ()
    return SmallProof(
        name=one.name,
        face=shapes.of(Unit(one)).finished(one),
        quantity=order.quantity,
        size_mm=one.size_mm,
        colors=one.colors,
        code=code,
        audience=one.recipe.audience,
        said=said,
    )
