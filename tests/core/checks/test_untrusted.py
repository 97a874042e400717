"""Whatever triangles a file holds, the check ends with findings, never with a crash."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.mesh.samples import plates
from reliefsmith.checks.independent import check_parts
from reliefsmith.findings import CODES
from reliefsmith.mesh import prism
from reliefsmith.model import Part
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings
from tiers import examples


@st.composite
def soups(draw: st.DrawFn, name: str = "part") -> Part:
    """Draw triangles between points of which many coincide or lie on common planes."""
    points = st.tuples(st.integers(-9, 9), st.integers(-9, 9), st.integers(0, 4))
    vertices = np.array(draw(st.lists(points, min_size=3, max_size=20)), dtype=np.float64) * [3.0, 3.0, 0.5]
    corners = st.integers(0, len(vertices) - 1)
    triangles = draw(st.lists(st.tuples(corners, corners, corners), min_size=1, max_size=40))
    return Part(
        name, draw(st.sampled_from(["base", "motif"])), (200, 30, 30), vertices, np.array(triangles, np.int32)
    )


@st.composite
def sculpted(draw: st.DrawFn) -> Part:
    """Draw a plate of which vertices were pulled somewhere by hand, and perhaps a triangle lost."""
    mesh = prism(draw(plates()), 0.0, draw(st.floats(0.1, 3.0)))
    vertices = mesh.vertices.copy()
    pull = st.tuples(*[st.floats(-8, 8)] * 3)
    for index, by in draw(st.lists(st.tuples(st.integers(0, len(vertices) - 1), pull), max_size=4)):
        vertices[index] += by
    lost = draw(st.integers(0, 1))
    return Part("sculpted", "base", (30, 30, 200), vertices, mesh.triangles[lost:])


def _checked(parts: list[Part]) -> None:
    found = check_parts(parts, printer=PrinterSettings(), heights=HeightSettings())
    assert all(item.code in CODES and item.message for item in found)


@given(st.lists(soups(), min_size=1, max_size=3))
@settings(max_examples=60)
def test_triangle_soup(parts: list[Part]) -> None:
    _checked(parts)


@examples(10, 25, sculpted(), soups(name="other"))
def test_solids_pulled_by_hand(part: Part, other: Part) -> None:
    _checked([part])
    _checked([part, other])
