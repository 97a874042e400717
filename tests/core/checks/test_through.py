"""What shows through: by the core's own values for a layer over a backing, wherever slabs lie."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.checks.through import seen_through
from reliefsmith.colorimetry import srgb_to_linear
from reliefsmith.colorimetry.hiding import coefficients_of, reflectance, shown_share, thick
from reliefsmith.model import Slab

YELLOW, NAVY = (255, 210, 63), (27, 42, 73)  # the first is the color of the shipped table's filament


def slab(part: str, color: tuple[int, int, int], bottom: float, top: float, size: float = 10.0) -> Slab:
    role = "base" if part == "base" else "motif"
    return Slab(part, role, color, shapely.box(-size, -size, size, size), bottom, top)


def linear(color: tuple[int, int, int]) -> np.ndarray:
    return srgb_to_linear(np.asarray(color, np.uint8))


@pytest.mark.parametrize("thickness", [0.2, 0.4, 1.2])
def test_a_thin_light_layer_is_what_the_model_says(thickness: float) -> None:
    slabs = [slab("base", NAVY, 0, 2), slab("yellow", YELLOW, 2, 2 + thickness, 5)]
    (seen,) = seen_through(slabs, "yellow", np.array([[1.0, 1.0, 2 + thickness]]))
    filament = coefficients_of(YELLOW)
    k, s = filament.absorption, filament.scattering
    share = reflectance(k, s, thickness, linear(NAVY)) / thick(k, s)
    assert seen == pytest.approx(linear(YELLOW) * share, abs=1e-9)
    share = seen @ (0.2126, 0.7152, 0.0722) / (linear(YELLOW) @ (0.2126, 0.7152, 0.0722))
    assert share == pytest.approx(shown_share(filament, thickness, NAVY), abs=0.01)


def test_slabs_of_one_part_are_one_thickness_and_the_place_counts() -> None:
    slabs = [slab("base", NAVY, 0, 2), slab("yellow", YELLOW, 2, 2.4), slab("yellow", YELLOW, 2.4, 2.8, 3)]
    places = np.array([[1.0, 0.0, 2.8], [5.0, 0.0, 2.4], [1.0, 0.0, 2.3]])
    whole, low, cut = seen_through(slabs, "yellow", places)
    one = [slab("base", NAVY, 0, 2), slab("yellow", YELLOW, 2, 2.8)]
    assert whole == pytest.approx(seen_through(one, "yellow", places[:1])[0])
    assert (cut[:2] < low[:2]).all()
    assert (low[:2] < whole[:2]).all()


def test_what_lies_lowest_and_what_is_thick_is_plain() -> None:
    slabs = [slab("base", YELLOW, 0, 0.2), slab("navy", NAVY, 0.2, 3.0)]
    assert seen_through(slabs, "base", np.array([[0.0, 0.0, 0.2]]))[0] == pytest.approx(linear(YELLOW))
    assert seen_through(slabs, "navy", np.array([[0.0, 0.0, 3.0]]))[0] == pytest.approx(
        linear(NAVY), abs=1e-3
    )


def test_a_layer_between_shows_what_is_below_it_too() -> None:
    white = (244, 244, 240)
    slabs = [slab("base", NAVY, 0, 2), slab("white", white, 2, 2.1), slab("yellow", YELLOW, 2.1, 2.3)]
    (seen,) = seen_through(slabs, "yellow", np.array([[0.0, 0.0, 2.3]]))
    (below,) = seen_through(slabs, "white", np.array([[0.0, 0.0, 2.1]]))
    filament = coefficients_of(YELLOW)
    k, s = filament.absorption, filament.scattering
    assert seen == pytest.approx(
        np.clip(linear(YELLOW) * reflectance(k, s, 0.2, below) / thick(k, s), 0, 1), abs=1e-9
    )
    assert (below < linear(white)).all()
