"""Parts of a file and pieces of a bed, from packages written by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from reliefsmith.formats import package
from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.threemf_read import read_bed, read_threemf

from .models import PALETTE, body, model, packed

TURN = "0 1 0 -1 0 0 0 0 1 5 6 7"  # (x, y) goes to (5 - y, 6 + x)
GROUP = (
    '<object id="9" name="heron"><components><component objectid="2"/>'
    '<component objectid="3" transform="1 0 0 0 1 0 0 0 1 0 0 30"/></components></object>'
)
PARTS = PALETTE + body(2, 'name="low" pid="1"') + body(3, 'name="high" pid="1" pindex="1"') + GROUP


def test_parts_stand_where_the_build_puts_them_and_support_is_left_out() -> None:
    support = body(4, 'type="support"') + body(5, 'type="solidsupport"')
    items = f'<item objectid="4"/><item objectid="9" transform="{TURN}"/><item objectid="5"/>'
    low, high = read_threemf(packed(model(PARTS + support, items)), "stem")
    assert (low.name, low.role, low.color) == ("low", "base", (0xD3, 0x20, 0x20))
    assert (high.name, high.role, high.color) == ("high", "motif", (0x1E, 0x8A, 0x8A))
    assert low.vertices.tolist() == [[5, 6, 7], [5, 16, 7], [-15, 6, 7], [5, 6, 37]]
    assert np.array_equal(high.vertices - low.vertices, [[0, 0, 30]] * 4)


def test_a_file_that_builds_nothing_or_only_support_is_told() -> None:
    for resources, items in ((PARTS, ""), (body(4, 'type="support"'), '<item objectid="4"/>')):
        with pytest.raises(BadFileError, match="no solid to build"):
            read_threemf(packed(model(resources, items)), "stem")


def test_a_bed_has_pieces_by_number_that_share_what_they_are_made_of() -> None:
    items = '<item objectid="9" partnumber="1"/><item objectid="2" partnumber="3"/>'
    items = items.replace("/><", f'/><item objectid="9" partnumber="2" transform="{TURN}"/><')
    one, other, third = read_bed(packed(model(PARTS, items, 'unit="centimeter"')), "stem")
    assert [piece.number for piece in (one, other, third)] == ["1", "2", "3"]
    assert [piece.name for piece in (one, other, third)] == ["heron", "heron", "low"]
    assert one.parts is other.parts
    assert [part.name for part in one.parts] == ["low", "high"]
    assert one.parts[1].vertices[:, 2].min() == 300  # where the object has it, in mm
    assert one.moved == (1, 0, 0, 1, 0, 0)


def test_a_piece_is_moved_as_the_build_moves_its_parts_seen_from_above() -> None:
    """By shapely: the outline of the parts, moved, is that of the parts as built; in centimetres too."""
    for unit in ("millimeter", "centimeter"):
        data = packed(
            model(PARTS, f'<item objectid="9" partnumber="2" transform="{TURN}"/>', f'unit="{unit}"')
        )
        (piece,) = read_bed(data, "stem")
        made, built = (
            shapely.MultiPoint(np.vstack([part.vertices[:, :2] for part in parts])).convex_hull
            for parts in (piece.parts, read_threemf(data, "stem"))
        )
        assert affinity.affine_transform(made, piece.moved).equals(built)


@pytest.mark.parametrize(
    "items",
    ['<item objectid="2" partnumber="1"/><item objectid="3"/>', '<item objectid="2" partnumber=" "/>', ""],
)
def test_what_has_an_item_without_a_number_is_no_bed(items: str) -> None:
    assert read_bed(packed(model(PARTS, items)), "stem") == ()


def test_a_piece_without_a_name_is_called_by_its_file() -> None:
    (piece,) = read_bed(packed(model(body(2), '<item objectid="2" partnumber="1"/>')), "stem")
    assert (piece.name, piece.parts[0].name) == ("stem", "stem")


def test_a_model_in_another_file_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    real = package.Package.entry
    monkeypatch.setattr(package.Package, "entry", lambda self, name: read.append(name) or real(self, name))
    component = '<component objectid="2" p:path="/3D/b.model"/>'
    start = model(f'<object id="2"><components>{component * 2}</components></object>', '<item objectid="2"/>')
    parts = read_threemf(packed(start, ("3D/b.model", model(body(2, 'name="kite"')))), "stem")
    assert [part.name for part in parts] == ["kite", "kite-2"]
    assert read.count("3D/b.model") == 1
    with pytest.raises(BadFileError, match=r"has no 3D/b\.model"):
        read_threemf(packed(start), "stem")


@pytest.mark.parametrize("kind", ["texture2dgroup", "compositematerials"])
def test_a_group_without_plain_colors_may_be_referred_to_and_gives_none(kind: str) -> None:
    """Materials, chapters 3 and 4: such a group has an id like any other group."""
    group = f'<m:{kind} id="90" texid="91" matid="1"><m:tex2coord u="0" v="0"/></m:{kind}>'
    data = packed(model(PALETTE + group + body(2, 'pid="90" pindex="0"'), '<item objectid="2"/>'))
    assert read_threemf(data, "stem")[0].color == (128, 128, 128)
