"""Files that break one clause of the 3MF specification, and odd ones that keep all: what our reader says.

Rebuilt by us from the clauses of the 3MF Core Specification 1.4.0 and the Materials and Properties Extension
1.2.1 and the Production Extension 1.2 (https://github.com/3MFConsortium), one case for each; no file of the
consortium's suites is used.
"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest

from reliefsmith.errors import OutputError
from reliefsmith.formats import read_parts
from reliefsmith.model import Part

CORE = 'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"'
MATERIALS = 'xmlns:m="http://schemas.microsoft.com/3dmanufacturing/material/2015/02"'
START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/3D/a.model" Id="r0" Type="{START}"/></Relationships>'
)
TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>"
)
# A tetrahedron with legs of 10 along the axes: its volume is 1000/6.
MESH = (
    "<mesh><vertices>"
    '<vertex x="0" y="0" z="0"/><vertex x="10" y="0" z="0"/><vertex x="0" y="10" z="0"/>'
    '<vertex x="0" y="0" z="10"/></vertices><triangles>'
    '<triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/>'
    '<triangle v1="1" v2="2" v3="3"/><triangle v1="0" v2="3" v3="2"/></triangles></mesh>'
)
MODEL = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    f'<model unit="millimeter" {CORE} {MATERIALS}>'
    '<metadata name="Title">tetrahedron</metadata><resources>'
    '<basematerials id="1"><base name="red" displaycolor="#D32020"/>'
    '<base name="teal" displaycolor="#1E8A8AFF"/></basematerials>'
    '<m:colorgroup id="2"><m:color color="#00FF00"/></m:colorgroup>'
    f'<object id="3" type="model" name="kite" pid="1" pindex="0">{MESH}</object>'
    '<object id="4"><components><component objectid="3"/></components></object>'
    '</resources><build><item objectid="4" transform="1 0 0 0 1 0 0 0 1 5 6 7"/></build></model>'
)
VOLUME_MM3 = 1000 / 6

Entry = tuple[str, str | bytes]


def package(
    model: str | bytes = MODEL, relations: str = RELATIONS, types: str = TYPES, more: tuple[Entry, ...] = ()
) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        entries = (("[Content_Types].xml", types), ("_rels/.rels", relations), ("3D/a.model", model), *more)
        for name, text in entries:
            target.writestr(name, text)
    return out.getvalue()


def read(folder: Path, data: bytes) -> tuple[Part, ...]:
    path = folder / "case.3mf"
    path.write_bytes(data)
    return read_parts(path)


def volume(part: Part) -> float:
    a, b, c = (part.vertices[part.triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def library_reads(data: bytes) -> bool:
    """Whether lib3mf accepts a file in strict mode."""
    scene = lib3mf.get_wrapper().CreateModel()
    reader = scene.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    try:
        reader.ReadFromBuffer(data)
    except lib3mf.ELib3MFException:
        return False
    return True


def test_the_case_that_all_others_change_is_sound(tmp_path: Path) -> None:
    data = package()
    assert library_reads(data)
    (part,) = read(tmp_path, data)
    assert (part.name, part.role, part.color) == ("kite", "base", (0xD3, 0x20, 0x20))
    assert part.vertices.min(axis=0).tolist() == [5, 6, 7]
    assert part.vertices.max(axis=0).tolist() == [15, 16, 17]
    assert volume(part) == pytest.approx(VOLUME_MM3)


# clause, what is replaced in the model, by what, and a word of the message
BROKEN = [
    ("2.3.2 UTF-8 only", 'encoding="UTF-8"', 'encoding="ISO-8859-1"', "UTF-8"),
    ("2.3.2 no DTD", "<model ", '<!DOCTYPE model [<!ENTITY a "b">]><model ', "DTD"),
    ("2.3.2 no DTD, empty", "<model ", "<!DOCTYPE model><model ", "DTD"),
    ("2.3.2 well formed", "</model>", "", "broken at line"),
    ("2.3.2 no foreign element of the core", "<build>", "<workshop/><build>", "workshop"),
    ("3.4 the core namespace", "core/2015/02", "core/1999/01", "does not allow"),
    ("3.4 one resources", "<build>", "<resources/><build>", "more than one resources"),
    ("3.4 one build", "</build>", "</build><build/>", "more than one build"),
    ("3.4 resources and build", '<build><item objectid="4" transform="1 0 0 0 1 0 0 0 1 5 6 7"/></build>', "",
     "no build"),
    ("3.4 known unit", "millimeter", "parsec", "unit"),
    ("3.4 required extension", "<model ", '<model requiredextensions="b" xmlns:b="http://b.example/1" ',
     "extension"),
    ("3.4 required extension, undeclared", "<model ", '<model requiredextensions="zz" ', "extension"),
    ("3.4 defined before use", 'component objectid="3"', 'component objectid="4"', "not defined before"),
    ("3.4.1 metadata once", "<resources>", '<metadata name="Title">b</metadata><resources>', "twice"),
    ("3.4.1 metadata has a name", '<metadata name="Title">', "<metadata>", "lacks"),
    ("3.4.2 unique ids", 'object id="4"', 'object id="3"', "twice"),
    ("3.4.2 unique ids over all kinds", 'm:colorgroup id="2"', 'm:colorgroup id="1"', "twice"),
    ("B.1 id is positive", 'object id="4"', 'object id="0"', "no usable number"),
    ("B.1 id below 2^31", 'object id="4"', 'object id="2147483648"', "no usable number"),
    ("3.4.3.1 item refers to an object", 'item objectid="4"', 'item objectid="9"', "not defined before"),
    ("3.4.3.1 item has an object", 'item objectid="4" ', "item ", "lacks"),
    ("3.4.3.1 other is not built", 'id="3" type="model"', 'id="3" type="other"', "type other"),
    ("3.3 twelve numbers", "1 0 0 0 1 0 0 0 1 5 6 7", "1 0 0 0 1 0 0 0 1 5 6", "twelve"),
    ("3.3 finite numbers", "1 0 0 0 1 0 0 0 1 5 6 7", "1 0 0 0 1 0 0 0 1 5 6 nan", "twelve"),
    ("3.3 decimal point", "1 0 0 0 1 0 0 0 1 5 6 7", "1 0 0 0 1 0 0 0 1 5 6 7,5", "twelve"),
    ("3.3 not singular", "1 0 0 0 1 0 0 0 1 5 6 7", "1 0 0 0 1 0 0 0 0 5 6 7", "flattens"),
    ("4 known type", 'type="model"', 'type="statue"', "unknown type"),
    ("4 pindex needs pid", 'pid="1" pindex="0"', 'pindex="0"', "pindex without a pid"),
    ("4 pid is defined", 'pid="1"', 'pid="7"', "not defined before"),
    ("4 pindex exists", 'pindex="0"', 'pindex="2"', "does not exist"),
    ("4 mesh or components", "<components>", f"{MESH}<components>", "either a mesh or components"),
    ("4 an object is something", MESH, "", "either a mesh or components"),
    ("4.1.3 vertices come first", "<vertices>", "<triangles/><vertices>", "before vertices"),
    ("4.1.3.1 all coordinates", '<vertex x="10" y="0" z="0"/>', '<vertex x="10" y="0"/>', "lacks"),
    ("4.1.3.1 coordinates are numbers", 'x="10"', 'x="ten"', "no usable number"),
    ("4.1.3.1 coordinates are finite", 'x="10"', 'x="INF"', "no usable number"),
    ("4.1.4 four triangles", '<triangle v1="0" v2="3" v3="2"/>', "", "too few"),
    ("4.1.4.1 corners are distinct", 'v1="0" v2="2" v3="1"', 'v1="0" v2="0" v3="1"', "equal corners"),
    ("4.1.4.1 corners exist", 'v1="0" v2="2" v3="1"', 'v1="0" v2="4" v3="1"', "does not exist"),
    ("4.1.4.1 corners are not negative", 'v1="0" v2="2" v3="1"', 'v1="0" v2="-1" v3="1"', "does not exist"),
    ("4.1.4.1 no mixed base materials", 'v3="1"', 'v3="1" p1="0" p2="1" p3="1"', "mixes"),
    ("4.1.4.1 property of a triangle exists", 'v3="1"', 'v3="1" pid="2" p1="5"', "does not exist"),
    ("4 triangle property needs a group", ' pid="1" pindex="0"><mesh>', "><mesh>", "no group"),
    ("4.2 a component refers back", 'component objectid="3"', 'component objectid="77"', "not defined"),
    ("4.2 components are not empty", '<component objectid="3"/>', "", "no components"),
    ("5.1.1 a color has six digits", "#D32020", "#D320", "#RRGGBB"),
    ("5.1.1 a color has hexadecimal digits", "#D32020", "#D3202G", "#RRGGBB"),
    ("5.1 a base has a color", ' displaycolor="#D32020"', "", "lacks"),
    ("Materials 2.1 a color has a value", '<m:color color="#00FF00"/>', "<m:color/>", "lacks"),
]  # fmt: skip


@pytest.mark.parametrize(("clause", "old", "new", "word"), BROKEN, ids=[row[0] for row in BROKEN])
def test_a_broken_clause_is_told_in_one_line(
    tmp_path: Path, clause: str, old: str, new: str, word: str
) -> None:
    text = MODEL.replace('v3="1"', 'v3="1" p1="0"', 1) if "needs a group" in clause else MODEL
    assert old in text
    with pytest.raises(OutputError, match=word) as caught:
        read(tmp_path, package(text.replace(old, new, 1)))
    message = str(caught.value)
    assert message.startswith("cannot read ")
    assert "case.3mf" in message
    assert "\n" not in message


BROKEN_PACKAGES = {
    "2.1.1 a start part": package(relations=RELATIONS.replace(START, "http://b.example/")),
    "2.1.1 only one start part": package(
        relations=RELATIONS.replace("</R", f'<Relationship Target="/3D/a.model" Id="r1" Type="{START}"/></R')
    ),
    "2.1.1 the start part exists": package(relations=RELATIONS.replace("a.model", "b.model")),
    "2.1 nothing outside": package(relations=RELATIONS.replace("<Rel", '<Rel TargetMode="External"').replace(
        '<Rel TargetMode="External"ationships', "<Relationships").replace(
        '<Rel TargetMode="External"ationship ', '<Relationship TargetMode="External" ')),
    "C.1 the content type of the model": package(types=TYPES.replace("3dmodel+xml", "text+xml")),
    "2.2.3 no dots": package(more=(("3D/../../a.txt", "x"),)),
    "2.2.3 no hidden parts": package(more=(("3D/.hidden", "x"),)),
    "2.2.3 no empty segment": package(more=(("3D//a", "x"),)),
    "OPC no drive": package(more=(("C:/a.txt", "x"),)),
    "OPC no backslash": package(more=(("3D\\a.txt", "x"),)),
    "OPC names differ in more than case": package(more=(("3d/A.MODEL", MODEL),)),
    "2.3.2 no DTD in the relations": package(relations=RELATIONS.replace("<Rel", "<!DOCTYPE a><Rel", 1)),
    "2.3.2 UTF-16": package(MODEL.replace("UTF-8", "UTF-16").encode("utf-16")),
    "1.1 a package": b"solid kite\nendsolid kite\n",
    "1.1 a whole package": package()[:-40],
    "1.1 not empty": package("") ,
}  # fmt: skip


@pytest.mark.parametrize("clause", BROKEN_PACKAGES)
def test_a_broken_package_is_told_in_one_line(tmp_path: Path, clause: str) -> None:
    with pytest.raises(OutputError, match=r"^cannot read .*case\.3mf: ") as caught:
        read(tmp_path, BROKEN_PACKAGES[clause])
    assert "\n" not in str(caught.value)


SOUND = [
    ("3.4 unit may be left out", ' unit="millimeter"', ""),
    ("2.3.3 comments and blanks", "<build>", "<!-- a kite -->\n\t<build>"),
    ("2.3.3.1 foreign attributes are ignored", "<item ", '<item xmlns:b="http://b.example/1" b:c="d" '),
    ("3.4.1 unknown metadata is ignored", "<resources>",
     '<metadata xmlns:b="http://b.example/1" name="b:c">d</metadata><resources>'),
    ("3.4.1 a group of metadata", '<item objectid="4" transform="1 0 0 0 1 0 0 0 1 5 6 7"/>',
     '<item objectid="4" transform="1 0 0 0 1 0 0 0 1 5 6 7"><metadatagroup>'
     '<metadata xmlns:b="http://b.example/1" name="b:c">d</metadata></metadatagroup></item>'),
    ("B.1 plus signs and exponents", 'x="10"', 'x="+1.0e1"'),
    ("4.1.4.1 equal properties of a triangle", 'v3="1"', 'v3="1" p1="0" p2="0" p3="0"'),
    ("2.3.2 known extension is required", "<model ", '<model requiredextensions="m" '),
]  # fmt: skip


@pytest.mark.parametrize(("clause", "old", "new"), SOUND, ids=[row[0] for row in SOUND])
def test_what_the_clause_allows_is_read_by_us_and_by_the_library(
    tmp_path: Path, clause: str, old: str, new: str
) -> None:
    assert old in MODEL
    data = package(MODEL.replace(old, new, 1))
    assert library_reads(data)
    (part,) = read(tmp_path, data)
    assert (part.name, part.color) == ("kite", (0xD3, 0x20, 0x20))
    assert volume(part) == pytest.approx(VOLUME_MM3)
    assert part.vertices.min(axis=0).tolist() == [5, 6, 7]


@pytest.mark.parametrize("place", ["<resources>", "<components>", "</mesh>", "</model>"])
def test_foreign_elements_are_ignored_whatever_they_hold(tmp_path: Path, place: str) -> None:
    """Core 2.3.3.1: a consumer MUST ignore them (the library in strict mode refuses them)."""
    foreign = f'<b:c xmlns:b="http://b.example/1" {CORE}><vertex/><b:d><item/></b:d></b:c>'
    text = MODEL.replace(place, f"{foreign}{place}" if place.startswith("</") else f"{place}{foreign}", 1)
    (part,) = read(tmp_path, package(text))
    assert volume(part) == pytest.approx(VOLUME_MM3)


@pytest.mark.parametrize(
    ("unit", "mm"),
    [("micron", 0.001), ("centimeter", 10), ("inch", 25.4), ("foot", 304.8), ("meter", 1000)],
)
def test_units_become_millimetres(tmp_path: Path, unit: str, mm: float) -> None:
    """Core 3.4; 1 inch is 25.4 mm by definition since 1959, a foot is 12 inches."""
    (part,) = read(tmp_path, package(MODEL.replace("millimeter", unit)))
    assert volume(part) == pytest.approx(VOLUME_MM3 * mm**3)
    np.testing.assert_allclose(part.vertices.min(axis=0), np.array([5, 6, 7]) * mm)


def test_transforms_are_composed_from_the_inside_out(tmp_path: Path) -> None:
    """Core 3.3: a row vector times the matrix; component first, then item."""
    text = MODEL.replace(
        '<component objectid="3"/>', '<component objectid="3" transform="0 2 0 -2 0 0 0 0 2 100 0 0"/>'
    )
    (part,) = read(tmp_path, package(text))
    by_hand = {(x * 2 * 0 + y * -2 + 100 + 5, x * 2 + 6, z * 2 + 7)
               for x, y, z in ((0, 0, 0), (10, 0, 0), (0, 10, 0), (0, 0, 10))}  # fmt: skip
    assert {tuple(row) for row in part.vertices.tolist()} == by_hand
    assert volume(part) == pytest.approx(8 * VOLUME_MM3)


def test_a_mirrored_part_keeps_a_positive_volume(tmp_path: Path) -> None:
    """Core 3.3: a negative determinant MUST NOT change the sign of the volume."""
    text = MODEL.replace("1 0 0 0 1 0 0 0 1 5 6 7", "-1 0 0 0 1 0 0 0 1 5 6 7")
    (part,) = read(tmp_path, package(text))
    assert volume(part) == pytest.approx(VOLUME_MM3)
    assert part.vertices.max(axis=0).tolist() == [5, 16, 17]


@pytest.mark.parametrize(
    ("old", "new", "color"),
    [
        ('pid="1" pindex="0"', 'pid="1" pindex="1"', (0x1E, 0x8A, 0x8A)),
        ('pid="1" pindex="0"', 'pid="2" pindex="0"', (0, 255, 0)),
        ('pid="1" pindex="0"', "", (128, 128, 128)),
        ('v3="3"/>', 'v3="3" pid="2" p1="0"/>', (0, 255, 0)),
        (
            '<object id="3" type="model" name="kite" pid="1"',
            '<m:multiproperties id="8" pids="1 2"><m:multi pindices="1"/></m:multiproperties>'
            '<object id="3" type="model" name="kite" pid="8"',
            (0, 255, 0),
        ),
    ],
    ids=["base material", "color group", "none", "most triangles", "combination"],
)
def test_colors_are_read_from_each_kind_of_property(
    tmp_path: Path, old: str, new: str, color: tuple[int, int, int]
) -> None:
    """Core 4, 5; Materials 2, 5: a triangle's own property wins over the object's; layers paint over."""
    text = MODEL.replace('v3="2"/>', 'v3="2" pid="2" p1="0"/>') if old == 'v3="3"/>' else MODEL
    (part,) = read(tmp_path, package(text.replace(old, new)))
    assert part.color == color


def test_support_is_left_out_and_parts_get_names_of_their_own(tmp_path: Path) -> None:
    """Core 4: a consumer MAY ignore support objects."""
    text = MODEL.replace(
        "</components></object></resources>",
        '<component objectid="3" transform="1 0 0 0 1 0 0 0 1 0 0 -1"/><component objectid="6"/>'
        "</components></object></resources>",
    ).replace('<object id="4">', f'<object id="6" type="support">{MESH}</object><object id="4">')
    one, two = read(tmp_path, package(text))
    assert (one.name, one.role) == ("kite", "motif")
    assert (two.name, two.role) == ("kite-2", "base")  # the one that stands lower


PRODUCTION = 'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"'
UUID = "0f0e0d0c-0b0a-4909-8807-060504030201"
OTHER_MODEL = (
    f'<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" {CORE} {PRODUCTION}>'
    '<metadata name="Title">tetrahedron</metadata><resources>'
    '<basematerials id="1"><base name="green" displaycolor="#00FF00"/></basematerials>'
    f'<object id="3" p:UUID="{UUID}" name="tail" pid="1" pindex="0">{MESH}</object>'
    "</resources><build/></model>"
)
START_MODEL = (
    MODEL.replace("<model ", f'<model requiredextensions="p" {PRODUCTION} ')
    .replace("<build>", f'<build p:UUID="{UUID[:-1]}0">')
    .replace("<item ", f'<item p:UUID="{UUID[:-1]}2" ')
    .replace('<object id="3"', f'<object p:UUID="{UUID[:-1]}3" id="3"')
    .replace('<object id="4"', f'<object p:UUID="{UUID[:-1]}5" id="4"')
    .replace('component objectid="3"', f'component p:UUID="{UUID[:-1]}4" p:path="/3D/b.model" objectid="3"')
)
OTHER_RELATIONS = RELATIONS.replace("a.model", "b.model")


class TestSeveralModels:
    """Production Extension 1.2, chapters 2 and 3: objects in further model parts of the package."""

    def _package(self, start: str = START_MODEL, other: str = OTHER_MODEL) -> bytes:
        return package(start, more=(("3D/b.model", other), ("3D/_rels/a.model.rels", OTHER_RELATIONS)))

    def test_an_object_of_another_model_brings_its_own_materials(self, tmp_path: Path) -> None:
        assert library_reads(self._package())
        (part,) = read(tmp_path, self._package())
        assert (part.name, part.color) == ("tail", (0, 255, 0))
        assert volume(part) == pytest.approx(VOLUME_MM3)
        assert part.vertices.min(axis=0).tolist() == [5, 6, 7]

    def test_an_item_may_name_another_model_too(self, tmp_path: Path) -> None:
        text = START_MODEL.replace('objectid="4" transform', 'p:path="/3D/b.model" objectid="3" transform')
        (part,) = read(tmp_path, self._package(text))
        assert part.name == "tail"

    def test_the_build_of_another_model_is_ignored(self, tmp_path: Path) -> None:
        other = OTHER_MODEL.replace("<build/>", '<build><item objectid="3"/></build>')
        assert len(read(tmp_path, self._package(other=other))) == 1

    @pytest.mark.parametrize(
        ("start", "other", "word"),
        [
            (START_MODEL.replace("b.model", "c.model"), OTHER_MODEL, "has no 3D/c.model"),
            (START_MODEL.replace("b.model", "a.model"), OTHER_MODEL, "further model"),
            (START_MODEL, OTHER_MODEL.replace('id="3"', 'id="5"'), "not defined before"),
            (START_MODEL, OTHER_MODEL.replace("millimeter", "inch"), "different units"),
            (
                START_MODEL,
                OTHER_MODEL.replace(
                    MESH, '<components><component p:path="/3D/a.model" objectid="3"/></components>'
                ).replace(' pid="1" pindex="0"', ""),
                "further model",
            ),
        ],
        ids=["missing", "itself", "no such object", "other unit", "a path in another model"],
    )
    def test_references_that_lead_astray_are_told(
        self, tmp_path: Path, start: str, other: str, word: str
    ) -> None:
        with pytest.raises(OutputError, match=word):
            read(tmp_path, self._package(start, other))


class TestLimits:
    """Bounds of our own (anchors: known bombs); each stops before the cost is paid."""

    def test_a_bomb_of_zeros_is_refused_by_its_ratio(self, tmp_path: Path) -> None:
        with pytest.raises(OutputError, match="more than 200 times its size"):
            read(tmp_path, package(MODEL.replace("<build>", " " * 20_000_000 + "<build>")))

    def test_a_size_in_the_directory_that_is_a_lie_is_found(self, tmp_path: Path) -> None:
        data = bytearray(package(MODEL.replace("<build>", " " * 2_000 + "<build>")))
        place = data.rindex(b"PK\x01\x02")
        size = int.from_bytes(data[place + 24 : place + 28], "little")
        data[place + 24 : place + 28] = (size - 500).to_bytes(4, "little")
        with pytest.raises(OutputError):
            read(tmp_path, bytes(data))

    def test_too_many_entries(self, tmp_path: Path) -> None:
        with pytest.raises(OutputError, match="more than 1000 entries"):
            read(tmp_path, package(more=tuple((f"3D/{i}", "") for i in range(1000))))

    def test_components_that_double_sixteen_times_are_refused(self, tmp_path: Path) -> None:
        """2^16 copies from a file of 2 kB, the pattern of the billion laughs."""
        double = "".join(
            f'<object id="{i}"><components><component objectid="{i - 1}"/><component objectid="{i - 1}"/>'
            "</components></object>"
            for i in range(5, 5 + 16)
        )
        text = MODEL.replace("</resources>", f"{double}</resources>").replace(
            'item objectid="4"', 'item objectid="20"'
        )
        with pytest.raises(OutputError, match="too many components"):
            read(tmp_path, package(text))

    def test_components_nested_too_deep_are_refused(self, tmp_path: Path) -> None:
        chain = "".join(
            f'<object id="{i}"><components><component objectid="{i - 1}"/></components></object>'
            for i in range(5, 5 + 20)
        )
        with pytest.raises(OutputError, match="more than 16 deep"):
            read(tmp_path, package(MODEL.replace("</resources>", f"{chain}</resources>")))

    def test_elements_nested_too_deep_are_refused(self, tmp_path: Path) -> None:
        deep = '<b:c xmlns:b="http://b.example/1">' * 40 + "</b:c>" * 40
        with pytest.raises(OutputError, match="nested too deep"):
            read(tmp_path, package(MODEL.replace("</mesh>", f"{deep}</mesh>")))

    @pytest.mark.parametrize("value", ["9" * 5000, "1e999", "1e30", "-1e7"])
    def test_numbers_out_of_reach_are_refused(self, tmp_path: Path, value: str) -> None:
        with pytest.raises(OutputError, match="no usable number"):
            read(tmp_path, package(MODEL.replace('x="10"', f'x="{value}"')))

    def test_a_corner_of_many_digits_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(OutputError, match="no usable number"):
            read(tmp_path, package(MODEL.replace('v1="1"', f'v1="{"9" * 5000}"')))

    def test_an_encrypted_entry_is_refused(self, tmp_path: Path) -> None:
        data = bytearray(package())
        for mark, offset in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
            place = data.find(mark)
            while place >= 0:
                data[place + offset] |= 1
                place = data.find(mark, place + 4)
        with pytest.raises(OutputError, match="encrypted"):
            read(tmp_path, bytes(data))
