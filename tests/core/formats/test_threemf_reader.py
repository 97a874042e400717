"""One model is walked once: what is defined and placed, in its unit, and what breaks the rules."""

from __future__ import annotations

from collections import Counter

import pytest

from reliefsmith.formats import threemf_reader
from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.threemf_reader import ModelReader
from reliefsmith.formats.threemf_scene import Scene

from .models import MESH, PALETTE, body, model


def read(resources: str, items: str = "", more: str = "") -> Scene:
    """Read a model that is the start and refers to no other."""
    return ModelReader(Counter(), pytest.fail).read(model(resources, items, more))


def refused(word: str, resources: str, items: str = "", more: str = "") -> None:
    with pytest.raises(BadFileError, match=word):
        read(resources, items, more)


def test_objects_hold_what_their_elements_say() -> None:
    scene = read(PALETTE + body(5, 'name="kite" pid="1" pindex="1"') + body(6, 'type="support"'))
    one, other = scene.objects[5], scene.objects[6]
    assert (one.name, one.kind, one.default) == ("kite", "model", (1, 1))
    assert list(one.coordinates) == [0, 0, 0, 10, 0, 0, 0, 20, 0, 0, 0, 30]
    assert list(one.corners) == [0, 2, 1, 0, 1, 3, 1, 2, 3, 0, 3, 2]
    assert (one.instances, one.size, one.depth) == (1, 4, 1)
    assert (other.name, other.kind, other.default) == ("", "support", None)
    assert read(PALETTE + body(5, 'pid="1"')).objects[5].default == (1, 0)
    assert scene.groups == {1: [(0xD3, 0x20, 0x20), (0x1E, 0x8A, 0x8A)]}
    assert scene.materials == {1}


def test_items_and_components_refer_to_objects_defined_before() -> None:
    parts = body(2) + '<object id="3"><components><component objectid="2"/></components></object>'
    scene = read(
        parts,
        '<item objectid="3" partnumber=" a7 "/><item objectid="2" transform="1 0 0 0 1 0 0 0 1 5 6 7"/>',
    )
    assert [(item.target.key, item.number) for item in scene.items] == [(3, "a7"), (2, "")]
    assert scene.items[1].matrix[3].tolist() == [5, 6, 7]
    assert scene.objects[3].components[0][0] is scene.objects[2]
    refused("object 4, which is not defined before", parts.replace('objectid="2"', 'objectid="4"'))
    refused("object 9", parts, '<item objectid="9"/>')


@pytest.mark.parametrize(
    ("paint", "painted"),
    [
        ('p1="1"', {(1, 1): 1}),
        ('p1="1" p2="1" p3="1"', {(1, 1): 1}),
        ('pid="2" p1="0" p2="1"', {(2, 0): 1}),  # a color group may be mixed; the first corner counts
        ("", {}),
        ('pid="2"', {}),
    ],
)
def test_a_triangle_has_a_property_of_its_own_group_or_of_its_objects(
    paint: str, painted: dict[tuple[int, int], int]
) -> None:
    groups = (
        PALETTE + '<m:colorgroup id="2"><m:color color="#00FF00"/><m:color color="#0000FF"/></m:colorgroup>'
    )
    mesh = MESH.replace('v3="1"', f'v3="1" {paint}')
    scene = read(groups + body(5, 'pid="1" pindex="0"', mesh))
    assert scene.objects[5].painted == Counter(painted)


def test_properties_that_are_none_are_told() -> None:
    def painted(paint: str, more: str = 'pid="1"') -> str:
        return PALETTE + body(5, more, MESH.replace('v3="1"', f'v3="1" {paint}'))

    refused("mixes base materials", painted('p1="0" p2="1"'))
    refused("mixes base materials", painted('p1="0" p2="0" p3="1"'))
    refused("no group of properties", painted('p1="0"', ""))
    refused("member 2 of group 1", painted('p1="2"'))
    refused("no usable number", painted('p1="-1"'))
    refused("pindex without a pid", body(5, 'pindex="0"'))
    refused("group 1, which is not defined", body(5, 'pid="1"') + PALETTE)
    refused("member 2 of group 1", PALETTE + body(5, 'pid="1" pindex="2"'))


def test_a_combination_shows_its_topmost_plain_color() -> None:
    """Materials, chapter 5: layers paint over others; a missing index means 0; a texture has none."""
    groups = PALETTE + (
        '<m:texture2dgroup id="2" texid="9"><m:tex2coord u="0" v="0"/></m:texture2dgroup>'
        '<m:multiproperties id="3" pids="1 1 2"><m:multi pindices="0 1 0"/><m:multi pindices="1 0"/>'
        '<m:multi pindices="1"/></m:multiproperties>'
        '<m:multiproperties id="4" pids="2"><m:multi pindices="0"/></m:multiproperties>'
    )
    red, teal = (0xD3, 0x20, 0x20), (0x1E, 0x8A, 0x8A)
    scene = read(groups)
    assert scene.groups == {1: [red, teal], 2: None, 3: [teal, red, red], 4: [None]}
    assert scene.materials == {1}


@pytest.mark.parametrize("unit", ["micron", " inch ", "meter", None])
def test_the_unit_is_known_and_a_millimetre_without_one(unit: str | None) -> None:
    scene = read(body(2), more=f'unit="{unit}"' if unit else "")
    assert scene.scale == {"micron": 0.001, " inch ": 25.4, "meter": 1000.0, None: 1.0}[unit]
    refused("unit 'ell' is none of micron, millimeter", body(2), more='unit="ell"')


@pytest.mark.parametrize(
    ("resources", "word"),
    [
        (body(2) + body(2), "the id 2 twice"),
        (PALETTE + body(1), "the id 1 twice"),
        (body(0), "no usable number"),
        (body(2**31), "no usable number"),
        ("<object>" + MESH + "</object>", "an? object lacks its 'id'"),
        (body(2, 'type="kite"'), "unknown type 'kite'"),
        (body(2, mesh=""), "either a mesh or components"),
        (body(2, mesh=MESH + "<components/>"), "either a mesh or components"),
        (body(2, mesh="<components/>"), "object 2 has no components"),
        (body(2, mesh=MESH + MESH), "more than one mesh"),
        (body(2, mesh=MESH.replace("<triangles>", "<vertices/><triangles>")), "more than one vertices"),
        (body(2, mesh=MESH[: MESH.index("<triangles>")] + "</mesh>"), "mesh has no triangles"),
        (body(2, mesh="<mesh><triangles/><vertices/></mesh>"), "triangles before vertices"),
        (body(2, mesh=MESH.replace(' y="20"', "")), "vertex lacks its 'y'"),
        (body(2, mesh=MESH.replace(' v2="2"', "", 1)), "triangle lacks its 'v2'"),
        (body(2, mesh=MESH.replace('y="20"', 'y="tall"')), "vertex has a value that is no usable number"),
        (body(2, mesh=MESH.replace('v1="1"', f'v1="{10**30}"')), "triangle has a value that is no usable"),
        (body(2, mesh=MESH.replace('v1="1"', 'v1="1.5"')), "no usable number"),
        ("<item/>", "'item' stands where"),
        ("<vertex/>", "'vertex' stands where"),
        (body(2) + "<workshop/>", "'workshop' stands where"),
    ],
)  # fmt: skip
def test_what_breaks_a_rule_is_told(resources: str, word: str) -> None:
    refused(word, resources)


def test_the_first_element_is_a_model() -> None:
    for text in (b"<kite/>", b'<b:model xmlns:b="http://b.example/1"/>'):
        with pytest.raises(BadFileError, match="stands where 3MF does not allow it"):
            ModelReader(Counter()).read(text)


def test_foreign_elements_are_passed_over_with_all_they_hold_to_a_depth(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    deep = "<b:c xmlns:b='http://b.example/1'>" + "<object>" * 31 + "</object>" * 31 + "</b:c>"
    assert list(read(deep + body(2) + deep).objects) == [2]
    refused(
        "nested too deep",
        deep.replace("<object>", "<object><object>", 1).replace("</object>", "</object></object>", 1),
    )


@pytest.mark.parametrize(
    ("prefix", "known"), [("m", True), ("p", True), ("m p", True), ("b", False), ("zz", False)]
)
def test_only_known_extensions_may_be_required(prefix: str, known: bool) -> None:
    more = f'xmlns:b="http://b.example/1" requiredextensions="{prefix}"'
    if known:
        assert read(body(2), more=more).objects
    else:
        refused(f"needs the 3MF extension '{prefix}'", body(2), more=more)


def test_metadata_has_a_name_and_is_there_once_in_the_model_but_not_in_groups() -> None:
    group = '<metadatagroup><metadata name="a"/><metadata name="a"/></metadatagroup>'
    assert read(body(2).replace("<mesh>", f"{group}<mesh>")).objects
    head = '<metadata name="a"/>'
    for rows, word in ((head * 2, "metadata 'a' twice"), ("<metadata/>", "metadata lacks its 'name'")):
        with pytest.raises(BadFileError, match=word):
            ModelReader(Counter()).read(
                model(body(2)).replace(b"<resources>", rows.encode() + b"<resources>")
            )


@pytest.mark.parametrize(
    ("bound", "most", "word"),
    [
        ("MAX_VERTICES", 8, "more than .* triangles or 8 vertices"),
        ("MAX_TRIANGLES", 8, "more than 8 triangles"),
        ("MAX_RESOURCES", 2, "more than 2 of object"),
        ("MAX_INSTANCES", 3, "too many components or triangles"),
        ("MAX_TRIANGLES", 9, "too many components or triangles"),
    ],
)
def test_bounds_hold_for_all_of_a_file_to_the_last_one(
    monkeypatch: pytest.MonkeyPatch, bound: str, most: int, word: str
) -> None:
    """Two tetrahedra are read and one of them is built three times; a third is too many."""
    pair, items = body(2) + body(3), '<item objectid="2"/>' * 2
    three = (pair, items * 2) if "components" in word else (pair + body(4), items)
    monkeypatch.setattr(threemf_reader, bound, most)
    assert read(pair, items).objects
    refused(word, *three)


def test_counts_go_on_over_all_models_of_a_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(threemf_reader, "MAX_VERTICES", 8)
    counts: Counter[str] = Counter()
    ModelReader(counts).read(model(body(2) + body(3)))
    assert (counts["vertex"], counts["corner"], counts["object"]) == (8, 8, 2)
    with pytest.raises(BadFileError, match="8 vertices"):
        ModelReader(counts).read(model(body(2)))


def test_another_model_is_loaded_by_its_path_has_the_same_unit_and_builds_nothing() -> None:
    """Production, chapter 2: only the build of the start counts, and only the start refers to others."""
    other = ModelReader(Counter()).read(model(body(2), '<item objectid="2"/>'))
    assert other.items == []
    start = model(
        '<object id="3"><components><component objectid="2" p:path="/3D/b.model"/></components></object>'
    )
    asked = []
    scene = ModelReader(Counter(), lambda path: asked.append(path) or other).read(start)
    assert asked == ["/3D/b.model"]
    assert scene.objects[3].components[0][0] is other.objects[2]
    other.scale = 10.0
    with pytest.raises(BadFileError, match="different units"):
        ModelReader(Counter(), lambda _path: other).read(start)
    with pytest.raises(BadFileError, match="refers to a further model"):
        ModelReader(Counter()).read(start)
