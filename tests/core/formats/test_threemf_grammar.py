"""The grammar that the reader holds, against the one of the standard, kept beside the published facts."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from reliefsmith.formats.threemf_grammar import (
    AFTER,
    CHILDREN,
    KINDS,
    LEAST_TRIANGLES,
    MAX_ID,
    MM_PER_UNIT,
    NEEDS,
    ONCE,
    PRODUCTION,
    SUPPORTS,
    UNDERSTOOD,
)

from .models import CORE, MATERIALS
from .models import PRODUCTION as PUBLISHED

RULES = Path(__file__).parents[2] / "outside" / "data" / "threemf-model.rng"
RNG = "{http://relaxng.org/ns/structure/1.0}"
LEAVES = ("vertex", "triangle")  # of which the grammar names the first ones one by one


@pytest.fixture(scope="module")
def grammar() -> tuple[dict[str, set[str]], set[str]]:
    """Return what stands in what by the grammar of the clauses, and what is there once at most."""
    root = etree.parse(RULES).getroot()
    defined = {one.get("name"): one for one in root.iter(f"{RNG}define")}
    inside: dict[str, set[str]] = {}
    once: set[str] = set()

    def walk(node: etree._Element, parent: str, many: bool) -> None:
        for one in node.iterchildren(f"{RNG}*"):
            if one.tag == f"{RNG}element":
                prefix, _, name = one.get("name").rpartition(":")
                whole = f"{MATERIALS if prefix else CORE} {name}"
                if not many:
                    once.add(name)
                if whole not in inside.setdefault(parent, set()):
                    inside[parent].add(whole)
                    walk(one, name, False)
            elif one.tag == f"{RNG}ref":
                walk(defined[one.get("name")], parent, many)
            else:
                walk(one, parent, many or one.tag in (f"{RNG}zeroOrMore", f"{RNG}oneOrMore"))

    walk(root.find(f"{RNG}start"), "", False)
    return inside, once - {"model", *LEAVES}


def test_what_stands_in_what_is_as_the_clauses_say(grammar: tuple[dict[str, set[str]], set[str]]) -> None:
    """More than what we write are groups of metadata (Core 3.4.1.1) and of what has no plain color."""
    inside, _ = grammar
    more = {parent: {*names} - inside.get(parent, set()) for parent, names in CHILDREN.items()}
    assert {parent: names for parent, names in more.items() if names} == {
        "resources": {f"{MATERIALS} texture2dgroup", f"{MATERIALS} compositematerials"},
        "object": {f"{CORE} metadatagroup"},
        "item": {f"{CORE} metadatagroup"},
        "metadatagroup": {f"{CORE} metadata"},
    }
    assert all(names <= {*CHILDREN[parent]} for parent, names in inside.items())


def test_what_is_there_once_and_in_order_is_as_the_clauses_say(
    grammar: tuple[dict[str, set[str]], set[str]],
) -> None:
    inside, once = grammar
    assert set(ONCE) == once
    assert {name: set(needs) for name, needs in NEEDS.items()} == {
        name: {one.rpartition(" ")[2] for one in inside[name]} & once for name in ("model", "mesh")
    }
    text = RULES.read_text(encoding="utf-8")
    for later, earlier in AFTER.items():
        assert text.index(f'<element name="{earlier}">') < text.index(f'<element name="{later}">')
    assert set(AFTER) | set(AFTER.values()) == set(NEEDS["model"]) | set(NEEDS["mesh"])


def test_units_are_the_six_of_the_standard_in_millimetres() -> None:
    """Core 3.4, ST_Unit; a foot of 12 inches is 304.8 mm (international yard and pound agreement, 1959)."""
    assert MM_PER_UNIT == {
        "micron": 1e-3, "millimeter": 1, "centimeter": 10, "meter": 1e3, "inch": 25.4, "foot": 304.8
    }  # fmt: skip


def test_kinds_are_those_of_the_standard_and_support_is_among_them() -> None:
    """Core 3.4.2.1, ST_ObjectType."""
    assert sorted(KINDS) == ["model", "other", "solidsupport", "support", "surface"]
    assert set(SUPPORTS) == {kind for kind in KINDS if "support" in kind}
    assert (LEAST_TRIANGLES, MAX_ID) == (4, 2_147_483_647)


def test_namespaces_are_those_published() -> None:
    assert PRODUCTION == PUBLISHED
    assert {CORE, MATERIALS, PUBLISHED} < set(UNDERSTOOD)
