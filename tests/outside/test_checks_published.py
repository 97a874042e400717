"""Checks and estimate against published facts; the source stands beside each of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from reliefsmith.checks.changes import hand_loads
from reliefsmith.checks.contrast import COLOR_VISION
from reliefsmith.checks.estimate import filament_length, filament_section
from reliefsmith.checks.smallparts import (
    CYLINDER_DEPTH_MM,
    CYLINDER_DIAGONAL_MM,
    CYLINDER_WIDTH_MM,
    cannot_fit,
)
from reliefsmith.checks.strips import thin_share, thin_strokes
from reliefsmith.checks.tips import tip_reach
from reliefsmith.colorimetry.hiding import HIDES, Coefficients, reflectance, shown_share, thick
from reliefsmith.model.hanglimits import LEAST_HOLE_MM
from reliefsmith.polygons import arc_segments
from reliefsmith.recipe.sections import PrinterSettings


class TestHiding:
    """P. Kubelka, J. Opt. Soc. Am. 38(5), 448 (1948), hyperbolic solution.

    Values worked out independently: the closed form and numerical integration of
    dR/dx = S - 2 (K + S) R + S R^2 agree to 1e-9 on them.
    """

    @pytest.mark.parametrize(
        ("k", "s", "thickness", "backing", "expected"),
        [
            (0.05, 5, 0.4, 0.0, 0.656457130),
            (0.05, 5, 0.4, 1.0, 0.961783103),
            (0.05, 5, 0.4, 0.05, 0.661879743),
            (1, 2, 0.5, 0.8, 0.435599835),
            (0.5, 1, 1, 0.0, 0.346546066),
            (0.5, 1, 1, 1.0, 0.469670243),
        ],
    )
    def test_worked_values(
        self, k: float, s: float, thickness: float, backing: float, expected: float
    ) -> None:
        assert float(reflectance(k, s, thickness, backing)) == pytest.approx(expected, abs=1e-9)

    @given(st.floats(0.01, 3), st.floats(0.5, 20), st.floats(0.05, 1.0), st.floats(0.0, 1.0))
    def test_differential_equation(self, k: float, s: float, thickness: float, backing: float) -> None:
        """Kubelka and Munk's own equation, integrated by Runge-Kutta steps from the backing upward."""
        steps, value = 400, backing
        h = thickness / steps

        def slope(r: float) -> float:
            return s - 2 * (k + s) * r + s * r * r

        for _ in range(steps):
            a = slope(value)
            b = slope(value + h / 2 * a)
            c = slope(value + h / 2 * b)
            d = slope(value + h * c)
            value += h / 6 * (a + 2 * b + 2 * c + d)
        assert float(reflectance(k, s, thickness, backing)) == pytest.approx(value, abs=1e-7)

    def test_opaque(self) -> None:
        """R of an infinite layer with K/S = 1/2 is (3 - sqrt 5) / 2, whatever lies below."""
        golden = (3 - math.sqrt(5)) / 2
        assert float(thick(0.5, 1.0)) == pytest.approx(golden, abs=1e-12)
        for backing in (0.0, 0.5, 1.0):
            assert float(reflectance(0.5, 1.0, 60.0, backing)) == pytest.approx(golden, abs=1e-9)

    @given(st.floats(0.01, 5), st.floats(0.5, 20), st.floats(0.05, 1), st.floats(0.05, 1), st.floats(0, 1))
    def test_layers_on_layers(self, k: float, s: float, one: float, other: float, backing: float) -> None:
        """A layer on a layer is one layer of their thickness together (invariant imbedding)."""
        below = reflectance(k, s, one, backing)
        together = float(reflectance(k, s, one + other, backing))
        assert float(reflectance(k, s, other, below)) == pytest.approx(together, abs=1e-9)

    @given(st.floats(0.5, 20), st.floats(0.05, 2), st.floats(0, 1))
    def test_no_absorption(self, s: float, thickness: float, backing: float) -> None:
        """Limit of K = 0: R = 1 - (1 - Rg) / (1 + (1 - Rg) S X)."""
        limit = 1 - (1 - backing) / (1 + (1 - backing) * s * thickness)
        assert float(reflectance(0.0, s, thickness, backing)) == pytest.approx(limit, abs=1e-3)

    @pytest.mark.parametrize(("s", "layers"), [(5.0, 8), (10.0, 4), (20.0, 2)])
    def test_layers_to_hide_black_and_white(self, s: float, layers: int) -> None:
        """Contrast ratio 0.98 over black and white of 0.80 (ASTM D2805, from memory), R inf 0.85, 0.2 mm.

        ISO 6504-1 measures hiding power to 98 %, of white and light paints only (Y of 70 and more): so here.

        Dimensionless thickness S X = 7.6670, so 1.5334, 0.7667, 0.3834 mm.
        """
        k = s * (1 - 0.85) ** 2 / (2 * 0.85)

        def ratio(count: int) -> float:
            over_black, over_white = (float(reflectance(k, s, count * 0.2, ground)) for ground in (0.0, 0.8))
            return over_black / over_white

        assert ratio(layers) >= HIDES > ratio(layers - 1)

    @pytest.mark.parametrize(
        ("thickness", "expected"), [(0.2, 0.7911), (0.4, 0.9197), (0.6, 0.9635), (0.8, 0.9822), (1.0, 0.9910)]
    )
    def test_contrast_ratios(self, thickness: float, expected: float) -> None:
        """R inf 0.85, S = 10 per mm, over black and over white of 0.80; from the same worked table."""
        k = 10.0 * (1 - 0.85) ** 2 / (2 * 0.85)
        over_black, over_white = (float(reflectance(k, 10.0, thickness, ground)) for ground in (0.0, 0.8))
        assert over_black / over_white == pytest.approx(expected, abs=5e-5)

    def test_what_is_said_of_a_grey_is_its_reflectance(self) -> None:
        """For a filament without color the luminance is the reflectance itself."""
        grey = Coefficients("grey", (5.0,) * 3, (0.05,) * 3, assumed=True)
        over_black = float(reflectance(0.05, 5.0, 0.4, 0.0))
        assert shown_share(grey, 0.4, (0, 0, 0)) == pytest.approx(
            over_black / float(thick(0.05, 5.0)), rel=1e-9
        )


class TestSmallParts:
    """16 CFR 1501.4 and its figure: 1.25 in wide, 1.00 to 2.25 in deep with a floor at 45 degrees.

    The same cylinder in Canada's SOR/2011-17, Schedule 1: 31.7 mm, 25.4 to 57.1 mm.
    """

    def test_inches(self) -> None:
        assert pytest.approx(1.25 * 25.4) == CYLINDER_WIDTH_MM
        assert pytest.approx(2.25 * 25.4) == CYLINDER_DEPTH_MM
        assert pytest.approx(25.4 * math.hypot(1.25, 2.25)) == CYLINDER_DIAGONAL_MM
        # The metric cylinder of the Canadian text is smaller: what cannot fit here cannot fit there.
        assert math.hypot(31.7, 57.1) == pytest.approx(65.309, abs=1e-3)
        assert CYLINDER_DIAGONAL_MM > 65.309

    @pytest.mark.parametrize("turn", [0, 17, 45, 90])
    def test_what_surely_cannot_fit(self, turn: float) -> None:
        """Longer than the diagonal, or wider than the mouth in every direction."""
        for width, depth in ((70, 25), (66, 1), (40, 40), (32, 32)):
            assert cannot_fit(affinity.rotate(shapely.box(0, 0, width, depth), turn))

    @pytest.mark.parametrize("turn", [0, 33])
    @pytest.mark.parametrize(("width", "longest"), [(10, 56.29), (20, 53.55), (25, 50.995), (30, 46.37)])
    def test_thin_plates_that_fit_upright(self, width: float, longest: float, turn: float) -> None:
        """In the middle the floor lies 41.25 mm deep: length <= 41.25 + sqrt(15.85^2 - (w/2)^2).

        Worked out from the figure; these plates fit, so none may be passed as one that cannot.
        """
        assert longest == pytest.approx(41.25 + math.sqrt(15.85**2 - (width / 2) ** 2), abs=0.01)
        assert not cannot_fit(affinity.rotate(shapely.box(0, 0, width, longest), turn))

    def test_small_things(self) -> None:
        assert not cannot_fit(shapely.box(0, 0, 25, 45))
        assert not cannot_fit(shapely.Point(0, 0).buffer(5))


class TestFilament:
    """Geometry of round filament; densities by ASTM D792, as data sheets of resins print them (PLA 1.24)."""

    def test_sections(self) -> None:
        assert filament_section(1.75) == pytest.approx(2.405282, abs=5e-7)
        assert filament_section(2.85) == pytest.approx(6.379397, abs=5e-7)

    @pytest.mark.parametrize(
        ("density", "metres"),
        [(1.24, 0.33528), (1.27, 0.32736), (1.04, 0.39976), (1.07, 0.38855), (1.21, 0.34360)],
    )
    def test_metres_per_gram(self, density: float, metres: float) -> None:
        """PLA, PETG, ABS, ASA, TPU at 1.75 mm."""
        assert filament_length(1000 / density, 1.75) / 1000 == pytest.approx(metres, abs=5e-6)

    def test_feed_ratio(self) -> None:
        """A bead of 0.45 x 0.2 mm takes 0.0374177 mm of filament for each mm of path."""
        assert filament_length(0.45 * 0.2, 1.75) == pytest.approx(0.0374177, abs=5e-8)

    def test_density_of_the_default(self) -> None:
        assert PrinterSettings().density_g_cm3 == 1.24


class TestPrintableWidths:
    """Common practice, no source: strokes of one bead, no holes under 2 mm. Openings and tips: geometry."""

    def test_holes_under_two_millimetres_are_none(self) -> None:
        assert LEAST_HOLE_MM == 2.0

    @pytest.mark.parametrize(("stroke", "thin"), [(0.3, True), (0.39, True), (0.4, False), (0.6, False)])
    def test_a_stroke_of_one_bead_is_printable(self, stroke: float, thin: bool) -> None:
        strip = shapely.box(0, 0, 30, stroke)
        assert bool(thin_strokes(strip, 0.4)) is thin

    def test_an_opening_loses_its_corners_only(self) -> None:
        """Opening of a square by a disc of radius r: a^2 - (4 - pi) r^2 (mathematical morphology).

        With arcs of q chords a quarter, 2 q r^2 sin(pi / 2q) stands for pi r^2 (Steiner's formula for arcs).
        """
        radius = 0.2 - 0.005  # the least stroke is met within 5 um
        q = arc_segments(radius)
        lost = 4 * radius**2 - 2 * q * radius**2 * math.sin(math.pi / (2 * q))
        assert thin_share(shapely.box(0, 0, 2, 2), 0.4) == pytest.approx(lost / 4, rel=1e-9)
        assert lost == pytest.approx((4 - math.pi) * radius**2, rel=0.15)

    @pytest.mark.parametrize(
        ("angle", "reach"), [(60, 1.0), (90, math.sqrt(2) - 1), (180, 0.0), (20, 4.7587705)]
    )
    def test_reach_of_a_tip(self, angle: float, reach: float) -> None:
        """The centre of the rounding lies r / sin(a / 2) from the tip."""
        assert tip_reach(angle, 1.0) == pytest.approx(reach, abs=1e-7)


class TestHandLoads:
    """Optimal replacement (L. A. Belady, IBM Systems Journal 5(2), 1966) on the example of textbooks."""

    def test_nine_faults_with_three_frames(self) -> None:
        """A. Silberschatz et al., Operating System Concepts, virtual memory (from memory): 9 faults.

        The first three of them fill the empty frames, which is loading before the start.
        """
        pages = [7, 0, 1, 2, 0, 3, 0, 4, 2, 3, 0, 3, 2, 1, 2, 0, 1, 7, 0, 1]
        assert hand_loads([(page, page, page) for page in pages], 3) == 9 - 3


class TestColorVision:
    """Matrices of Machado, Oliveira and Fernandes (IEEE TVCG 15(6), 2009), severity 1."""

    @pytest.mark.parametrize("vision", sorted(COLOR_VISION))
    def test_white_stays_white(self, vision: str) -> None:
        """Rows sum up to one, as the paper's normalization demands."""
        np.testing.assert_allclose(np.sum(COLOR_VISION[vision], axis=1), 1.0, atol=2e-6)

    @pytest.mark.parametrize("vision", sorted(COLOR_VISION))
    def test_one_kind_of_cones_less_is_one_dimension_less(self, vision: str) -> None:
        """Dichromats see two dimensions of color: the matrix hardly spans the third."""
        values = np.linalg.svd(np.array(COLOR_VISION[vision]), compute_uv=False)
        assert values[2] < 0.12 * values[0]
