"""Stage values go to bytes and back unchanged, without pickle; a broken file is never a value."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest
import shapely

from reliefsmith.errors import StoreError
from reliefsmith.findings import finding, note
from reliefsmith.model import Artwork, Frame, Hole, Motif, Part, Plan
from reliefsmith.walk.store import FolderStore, MemoryStore, decode, encode

PLAN = Plan(
    base=shapely.Point(0, 0).buffer(10).difference(shapely.Point(0, 5).buffer(2)),
    base_color=(255, 255, 255),
    base_is_extra=True,
    motifs=(Motif((10, 20, 30), shapely.MultiPolygon([shapely.box(-1, -1, 1, 1)])),),
    areas=(shapely.MultiPolygon([shapely.box(-1, -1, 1, 1)]),),
    area_colors=((10, 20, 30),),
    frame=Frame(0.1, (3.0, 4.5), 0.0, (200, 100)),
    artwork_mm=(2.0, 2.0),
    hole=Hole((0.0, 5.0), 4.0, 3.0, 0.0, "inside", (0.0, 7.0)),
    findings=(finding("sharp-tip", "a tip", (1.0, 2.0, 0.0)),),
    notes=(note("link-added", "a link", (0.0, 0.0), 3.0),),
)


def test_a_plan_comes_back_equal_and_its_bytes_are_stable() -> None:
    data = encode(PLAN)
    assert encode(PLAN) == data
    assert decode(data) == PLAN
    assert encode(decode(data)) == data


def test_arrays_keep_dtype_shape_and_values() -> None:
    artwork = Artwork(
        rgb=np.arange(60, dtype=np.uint8).reshape(4, 5, 3),
        alpha=np.linspace(0, 1, 20, dtype=np.float32).reshape(4, 5),
        source_px=(5, 4),
        scale=1.0,
        has_alpha=True,
        lossy=False,
    )
    back = decode(encode(artwork))
    np.testing.assert_array_equal(back.rgb, artwork.rgb)
    np.testing.assert_array_equal(back.alpha, artwork.alpha)
    assert back.rgb.dtype == np.uint8
    assert back.alpha.dtype == np.float32


def test_parts_in_a_tuple_come_back() -> None:
    part = Part("base", "base", (1, 2, 3), np.eye(3), np.array([[0, 1, 2]], np.int32))
    (back,) = decode(encode((part,)))
    assert (back.name, back.color) == (part.name, part.color)
    np.testing.assert_array_equal(back.triangles, part.triangles)


@pytest.mark.parametrize("cut", [0, 1, 100, -1])
def test_cut_off_bytes_are_refused(cut: int) -> None:
    with pytest.raises(StoreError, match="cannot be read"):
        decode(encode(PLAN)[:cut])


def test_foreign_bytes_are_refused_and_never_unpickled(tmp_path: Path) -> None:
    with pytest.raises(StoreError):
        decode(pickle.dumps(PLAN))
    with pytest.raises(StoreError, match="cannot be stored"):
        encode(object())


def test_a_broken_file_counts_as_not_kept(tmp_path: Path) -> None:
    store = FolderStore(tmp_path)
    store.put("hung", "k", PLAN)
    assert store.get("hung", "k") == PLAN
    (file,) = tmp_path.iterdir()
    file.write_bytes(file.read_bytes()[:50])
    assert store.get("hung", "k") is None


def test_memory_forgets_the_oldest() -> None:
    store = MemoryStore(keep=2)
    for key in "abc":
        store.put("s", key, key)
    assert [store.get("s", key) for key in "abc"] == [None, "b", "c"]
