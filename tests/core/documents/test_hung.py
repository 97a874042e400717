"""Hardware as solids: closed, outside out, at its place and of its size."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import reliefsmith as rs
from reliefsmith.documents.holders import hardware_named
from reliefsmith.documents.hung import hung_solids
from reliefsmith.model import Result
from reliefsmith.walk.store import MemoryStore

KITE = Path(__file__).parents[3] / "samples" / "kite.png"
KINDS = ("split-ring", "jump-ring", "ball-chain", "cord", "strap", "ribbon", "screw", "magnet", "pin", "tape")


@pytest.fixture(scope="module")
def job() -> rs.Job:
    return rs.Job(KITE, MemoryStore(keep=20))


def _made(job: rs.Job, kind: str, **more: object) -> Result:
    return job.relief(rs.Recipe().with_values({"hang": {"hardware": kind, **more}})).result


@pytest.mark.parametrize("kind", KINDS)
def test_solids_are_closed_and_have_their_outside_out(kind: str, job: rs.Job) -> None:
    wide = {"tape": {"tape_mm": [20.0, 9.0]}, "ribbon": {"slot_mm": [15.0, 2.5]}}
    solids = hung_solids(_made(job, kind, **wide.get(kind, {})))
    assert solids
    for _, vertices, triangles in solids:
        edges = {
            (a, b) for face in triangles.tolist() for a, b in zip(face, face[1:] + face[:1], strict=True)
        }
        assert len(edges) == 3 * len(triangles)
        assert {(b, a) for a, b in edges} == edges
        a, b, c = (vertices[triangles[:, i]] for i in range(3))
        assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() > 0
    if kind in ("magnet", "pin", "tape"):
        assert max(vertices[:, 2].max() for _, vertices, _ in solids) < 2.0  # in the back of the base


def test_a_split_ring_has_its_size_and_bears_in_its_hole(job: rs.Job) -> None:
    result = _made(job, "split-ring")
    ring, hole = hardware_named("split-ring"), result.plan.hole
    solids = hung_solids(result)
    assert len(solids) == ring.turns
    for _, vertices, _ in solids:
        size = np.ptp(vertices, axis=0)
        assert size[1] == pytest.approx(ring.outer_mm, abs=0.05)
        low = vertices[:, 1].min() + ring.wire_mm
        assert hole.rest_mm[1] - hole.diameter_mm / 2 < low <= hole.rest_mm[1]


def test_a_cord_goes_from_one_hole_to_the_other(job: rs.Job) -> None:
    result = _made(job, "cord", holes=2)
    (_, vertices, _), (first, second) = *hung_solids(result), result.plan.holes
    assert np.isfinite(vertices).all()
    for hole in (first, second):
        assert np.linalg.norm(vertices[:, :2] - hole.rest_mm, axis=1).min() < 1.0


def test_on_nothing_there_is_nothing(job: rs.Job) -> None:
    assert hung_solids(_made(job, "none")) == []
