"""Solids for the turnable view: nothing lost on the grid, few enough, set together as the finished piece."""

from __future__ import annotations

import base64
import json
from dataclasses import replace

import numpy as np
import pytest

from reliefsmith.documents.sheet.turnable import MOST_TRIANGLES, STEPS, as_held, view_data
from reliefsmith.mesh import signed_volume
from reliefsmith.model import Part

from ..jobs import RED, kite


def test_the_turnable_view_keeps_every_triangle_and_place():
    job = kite()
    data = json.loads(view_data(job.parts))
    for entry, part in zip(data["parts"], job.parts, strict=True):
        points = np.frombuffer(base64.b64decode(entry["points"]), dtype="<u2").reshape(-1, 3)
        faces = np.frombuffer(base64.b64decode(entry["faces"]), dtype="<u2").reshape(-1, 3)
        assert len(faces) == len(part.triangles)
        corners = points[faces] / STEPS * data["size"] + np.array(data["low"])
        # Half a grid step and the rounding of size and corner to 0.1 um.
        assert np.abs(corners - part.vertices[part.triangles]).max() < 0.5 * data["size"] / STEPS + 2e-4


def test_a_very_fine_solid_is_made_coarser_for_the_view():
    side = 260
    y, x = np.mgrid[0:side, 0:side]
    vertices = np.column_stack([x.ravel() * 0.2, y.ravel() * 0.2, np.sin(x.ravel() / 9.0)])
    corner = (y[:-1, :-1] * side + x[:-1, :-1]).ravel()
    triangles = np.concatenate(
        [
            np.column_stack([corner, corner + 1, corner + side]),
            np.column_stack([corner + 1, corner + side + 1, corner + side]),
        ]
    ).astype(np.int32)
    data = json.loads(view_data([Part("base", "base", RED, vertices, triangles)]))
    faces = np.frombuffer(base64.b64decode(data["parts"][0]["faces"]), dtype="<u2").reshape(-1, 3)
    points = np.frombuffer(base64.b64decode(data["parts"][0]["points"]), dtype="<u2").reshape(-1, 3)
    assert len(triangles) > MOST_TRIANGLES >= len(faces) > MOST_TRIANGLES / 8
    assert (points.max(axis=0) - points.min(axis=0))[:2] / STEPS * data["size"] == pytest.approx(
        [51.8, 51.8], abs=0.5
    )


def test_colors_and_names_go_with_the_solids(job) -> None:
    data = json.loads(view_data(job.parts))
    assert [(entry["name"], entry["color"]) for entry in data["parts"]] == [
        ("base", "#14213d"),
        ("red", "#d32020"),
        ("yellow", "#f7c923"),
    ]
    assert view_data(job.parts) == view_data(tuple(job.parts))


def test_equal_points_are_one_and_what_collapses_is_left_out() -> None:
    points = np.array([[0, 0, 0], [100, 0, 0], [0, 100, 0], [0, 0, 0], [1e-4, 0, 0]], dtype=float)
    faces = np.array([[0, 1, 2], [3, 1, 2], [0, 4, 1], [0, 1, 3], [1, 0, 3]], np.int32)
    (entry,) = json.loads(view_data([Part("base", "base", RED, points, faces)]))["parts"]
    assert len(base64.b64decode(entry["points"])) == 3 * 3 * 2
    assert len(base64.b64decode(entry["faces"])) == 2 * 3 * 2


def test_a_piece_that_is_printed_as_it_is_held_stays(job) -> None:
    assert as_held(job.parts, job.stack) == job.parts


def test_what_lies_face_down_is_turned_over_not_mirrored(job) -> None:
    """Half a turn about the y axis and up again: twice it is where it was, its volume stays."""
    turned = replace(job.stack, piece=tuple(slab.turned_over(2.6) for slab in job.stack.slabs))
    held = as_held(job.parts, turned)
    for one, other in zip(held, job.parts, strict=True):
        assert signed_volume(one.vertices, one.triangles) == pytest.approx(
            signed_volume(other.vertices, other.triangles)
        )
        assert np.sort(one.vertices[:, 0]) == pytest.approx(np.sort(-other.vertices[:, 0]))
    assert max(part.vertices[:, 2].max() for part in held) == pytest.approx(2.6)
    assert min(part.vertices[:, 2].min() for part in held) == pytest.approx(0.0)
    for one, other in zip(as_held(held, turned), job.parts, strict=True):
        assert one.vertices == pytest.approx(other.vertices)


def test_of_two_plates_the_back_one_is_moved_back_and_the_other_turned(job) -> None:
    stack = replace(
        job.stack, piece=job.stack.slabs, back_at_mm=(60.0, 5.0), jobs=(("red", "yellow"), ("base",))
    )
    base, red, _ = as_held(job.parts, stack)
    assert base.vertices == pytest.approx(job.parts[0].vertices - (60.0, 5.0, 0.0))
    assert red.vertices[:, 0] == pytest.approx(-job.parts[1].vertices[:, 0])
