"""What is ground, what a field, and what the art encloses: guessed, picked, corrected."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.errors import ArtworkError

from .pictures import (
    BLUE,
    INK,
    RED,
    WHITE,
    YELLOW,
    Sheet,
    assert_colors,
    is_ground,
    kite,
    label_of,
    separated,
)


def test_art_that_touches_the_border_keeps_its_ground() -> None:
    sheet = Sheet(400).box(0, 250, 400, 400, RED).box(180, 0, 220, 250, INK)
    result = separated(sheet.artwork())
    assert_colors(result, [RED, INK])
    assert result.background == (255, 255, 255)


def test_a_picture_full_to_the_border_has_no_background() -> None:
    sheet = Sheet(300).box(0, 0, 100, 300, RED).box(100, 0, 200, 300, YELLOW).box(200, 0, 300, 300, BLUE)
    result = separated(sheet.artwork())
    assert_colors(result, [RED, YELLOW, BLUE])
    assert (result.labels > 0).all()
    bordered = separated(sheet.artwork(), background={"mode": "border"})
    assert (bordered.labels == 0).any()


def test_background_modes() -> None:
    artwork = Sheet(300).disc(150, 150, 100, RED).artwork()
    whole = separated(artwork, background={"mode": "none"})
    assert_colors(whole, [RED, "#ffffff"])
    with pytest.raises(ArtworkError, match="no transparency"):
        separated(artwork, background={"mode": "alpha"})
    cut = Sheet(300, None).disc(150, 150, 100, RED).artwork()
    assert_colors(separated(cut, background={"mode": "alpha"}), [RED])


@pytest.mark.parametrize("quality", [0, 60])
def test_a_background_picked_from_the_picture(quality: int) -> None:
    """A badge full to the border: its blue field is given away instead of the frame's yellow."""
    sheet = Sheet(400, YELLOW).box(20, 20, 380, 380, BLUE).disc(200, 200, 120, RED)
    artwork = sheet.artwork(quality)
    assert_colors(separated(artwork), [YELLOW, BLUE, RED], tolerance=2.0)
    picked = separated(artwork, background={"color": "#2262d2"})  # a pixel beside the true value
    assert_colors(picked, [YELLOW, RED], tolerance=2.0)
    assert picked.labels[40, 40] == 0
    assert picked.labels[5, 5] == label_of(picked, YELLOW)
    kept = separated(artwork, background={"color": BLUE, "enclosed": "keep"})
    assert_colors(kept, [YELLOW, RED], tolerance=2.0)
    assert kept.labels[40, 40] == kept.enclosed + 1
    assert_colors(separated(artwork, background={"mode": "none", "color": BLUE}), [YELLOW, BLUE, RED], 2.0)


@pytest.mark.parametrize("quality", [0, 60])
def test_a_saturated_field_is_part_of_the_art_and_papers_are_not(quality: int) -> None:
    """A flag keeps its field; kraft and cream paper, black and navy do not become plates unless asked for."""

    def flag(field: str) -> Sheet:
        return Sheet(300, field).disc(150, 150, 70, "#ffffff").disc(150, 150, 30, "#1e1e1e")

    for field in (RED, "#00783c", "#ffd700"):
        kept = separated(flag(field).artwork(quality))
        assert_colors(kept, [field, "#ffffff", "#1e1e1e"], tolerance=2.5)
        assert [item.code for item in kept.notes] == ["field-kept"]
        assert (kept.labels > 0).all()
        assert kept.background is None
        taken = separated(flag(field).artwork(quality), background={"mode": "border"})
        assert_colors(taken, ["#ffffff", "#1e1e1e"], tolerance=2.5)
        assert taken.notes == ()
    for paper in ("#b8986e", "#fdf5dc", "#141e3c", "#000000"):
        found = separated(Sheet(300, paper).disc(150, 150, 70, RED).artwork(quality))
        assert_colors(found, [RED], tolerance=2.5)
        (said,) = found.notes
        assert said.code == "ground-taken"
        assert 'background.mode = "none"' in said.message


def test_a_saturated_color_that_one_side_lacks_is_no_field() -> None:
    for corners in ((0, 60, 20, 240), (0, 0, 40, 20)):  # most of a side; a corner
        sheet = Sheet(300, RED).box(*corners, INK).disc(150, 150, 70, "#ffffff")
        assert separated(sheet.artwork()).labels[150, 290] == 0
    with pytest.raises(ArtworkError, match="nothing is left"):
        separated(Sheet(300, RED).artwork())


@pytest.mark.parametrize("quality", [0, 60])
def test_a_cross_that_reaches_the_sides_leaves_a_field_its_field(quality: int) -> None:
    sheet = Sheet(300, "#6e1223").box(80, 0, 130, 300, "#f08cb4").box(0, 120, 300, 180, "#f08cb4")
    kept = separated(sheet.artwork(quality))
    assert_colors(kept, ["#6e1223", "#f08cb4"], tolerance=2.5)
    assert [item.code for item in kept.notes] == ["field-kept"]


def test_a_picked_background_that_is_not_there_is_one_plain_error() -> None:
    with pytest.raises(ArtworkError, match=r"background\.color is #00ff00"):
        separated(kite().artwork(), background={"color": "#00ff00"})
    cut = separated(kite(None).artwork(), background={"color": "#00ff00"})
    assert_colors(cut, [RED, BLUE, YELLOW, INK])  # what is transparent stays the background


@pytest.mark.parametrize(
    "sheet",
    [
        Sheet(400).disc(200, 200, 170, YELLOW).disc(200, 200, 60, WHITE).disc(200, 200, 25, INK),
        Sheet(400).disc(200, 200, 170, YELLOW).disc(200, 200, 60, WHITE).box(30, 340, 370, 380, INK),
        Sheet(400).disc(200, 200, 170, INK).disc(200, 200, 100, WHITE).disc(200, 200, 40, INK),
    ],
    ids=["an eye with its pupil", "a ring over a word", "one color"],
)
def test_ground_that_the_art_encloses_shows_unless_it_is_to_be_removed(sheet: Sheet) -> None:
    """It is no color of the art: it counts neither where colors are asked for nor in their limit."""
    for enclosed in ("auto", "keep"):
        found = separated(sheet.artwork(), background={"enclosed": enclosed})
        assert found.enclosed == 0
        assert found.colors[0].tolist() == [255, 255, 255]
        assert found.labels[200, 150] == 1
        assert found.labels[5, 5] == 0
    art = len(found.colors) - 1
    assert separated(sheet.artwork(), count=art).findings == ()
    assert [item.code for item in separated(sheet.artwork(), count=art + 1).findings] == ["colors-fewer"]
    removed = separated(sheet.artwork(), background={"enclosed": "remove"})
    assert removed.enclosed is None
    assert removed.labels[200, 150] == 0
    np.testing.assert_array_equal(removed.labels > 0, found.labels > 1)


def test_corrections_of_enclosed_ground_are_obeyed() -> None:
    sheet = Sheet(400).disc(200, 200, 170, YELLOW).disc(200, 200, 60, WHITE).box(30, 340, 370, 380, INK)
    left_out = separated(sheet.artwork(), omit=(WHITE,))
    assert left_out.enclosed is None
    assert left_out.labels[200, 200] == 0
    merged = separated(sheet.artwork(), merge=((WHITE, INK),))
    assert merged.enclosed is None
    assert merged.labels[200, 200] == label_of(merged, INK)
    renamed = separated(sheet.artwork(), merge=((WHITE, "#e0f0ff"),))
    assert renamed.colors[renamed.enclosed].tolist() == [0xE0, 0xF0, 0xFF]


def _three_stripes(pale: str, ground: str = WHITE) -> Sheet:
    return (
        Sheet(300, ground)
        .box(60, 60, 240, 120, pale)
        .box(60, 120, 240, 180, BLUE)
        .box(60, 180, 240, 240, RED)
    )


@pytest.mark.parametrize("quality", [0, 90, 70])
@pytest.mark.parametrize(("pale", "ground"), [("#eeeeee", WHITE), ("#f0f7ff", WHITE), (WHITE, "#f3f0ea")])
def test_an_even_area_that_an_edge_parts_from_the_ground_is_art(pale: str, ground: str, quality: int) -> None:
    """In a picture without noise it is what was drawn, however pale it is on pale ground."""
    result = separated(_three_stripes(pale, ground).artwork(quality))
    assert_colors(result, [pale, BLUE, RED], tolerance=2.5)
    assert label_of(result, pale) in result.labels[75:110, 75:225]
    assert is_ground(result)[:50].all()


def test_what_passes_into_the_ground_or_cannot_be_told_from_it_or_its_noise_is_ground() -> None:
    glow = _three_stripes(WHITE).artwork()
    y, x = np.mgrid[:300, :300] - 150
    shade = 255 - 17 * np.clip(1.6 - np.hypot(x, y) / 95, 0, 1)
    on_ground = (glow.rgb == 255).all(axis=-1)
    glow.rgb[on_ground] = shade.round().astype(np.uint8)[on_ground, None]
    random = np.random.default_rng(3)
    noisy = _three_stripes("#f2f2f2").artwork()
    noisy.rgb[:] = np.clip(noisy.rgb + random.normal(0, 2.5, (300, 300, 1)), 0, 255).round()
    for artwork in (glow, noisy, _three_stripes("#fbfbfb").artwork()):
        assert_colors(separated(artwork), [BLUE, RED], tolerance=2.5)


def test_what_compression_leaves_beside_pale_edges_is_no_color_and_no_enclosed_ground() -> None:
    """Blocks tinted but of the ground's luma, and single pixels of ground along a pale edge."""
    for quality in (40, 60, 75, 90):
        badge = Sheet(300, "#b8b8b8").disc(150, 150, 110, "#8d65c5").box(143, 40, 157, 260, WHITE)
        assert_colors(separated(badge.artwork(quality)), ["#8d65c5", WHITE], tolerance=2.5)
        round_flag = Sheet(300).disc(150, 150, 130, "#eeeeee").box(60, 150, 240, 190, BLUE)
        found = separated(round_flag.artwork(quality))
        assert_colors(found, ["#eeeeee", BLUE], tolerance=2.5)
        assert found.enclosed is None


def test_small_areas_of_a_pale_color_are_no_enclosed_ground() -> None:
    for quality in (75, 92):
        sheet = Sheet(400).disc(200, 200, 180, "#eeeeee").box(120, 120, 280, 280, BLUE)
        for place in (150, 200, 250):
            sheet.disc(place, place, 9, "#eeeeee")
        found = separated(sheet.artwork(quality))
        assert_colors(found, ["#eeeeee", BLUE], tolerance=2.5)
        assert found.enclosed is None
