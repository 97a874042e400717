"""What a kind asks for: which parts are called, with what picture, and what is said; kinds are given here."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork import treat
from reliefsmith.artwork.opening import Source
from reliefsmith.artwork.treat import Treated, treated_steps
from reliefsmith.errors import ArtworkError
from reliefsmith.findings import note
from reliefsmith.model.arrays import AS_IT_IS
from reliefsmith.model.artwork import FoundSheet
from reliefsmith.progress import drain
from reliefsmith.recipe.sections import ArtworkSettings

SIZE = (120, 90)
CORNERS = np.array([[20.0, 10.0], [100.0, 12.0], [98.0, 80.0], [18.0, 78.0]])
MISSED = note("sheet-not-found", "no sheet")


def plain(mode: str = "RGB", orientation: int = 1) -> Source:
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    rgb = np.stack([columns * 2, rows * 2, 0 * rows], axis=-1).astype(np.uint8)
    return Source(Image.fromarray(rgb).convert(mode), "kite.png", orientation, None, False)


class Seen:
    """Gives kinds and sheets, and keeps what was asked about."""

    def __init__(
        self, monkeypatch: pytest.MonkeyPatch, kind: str, sheet: bool = False, photo: bool = True
    ) -> None:
        self.looked: list[Image.Image] = []
        self.sought: list[Image.Image] = []
        self.kind, self.sheet = kind, sheet
        monkeypatch.setattr(treat, "kind_of", self._kind_of)
        monkeypatch.setattr(treat, "sought", self._sought)
        monkeypatch.setattr(treat, "may_be_photographed", lambda _image: photo)

    def _kind_of(self, image: Image.Image) -> str:
        self.looked.append(image)
        return self.kind

    def _sought(self, image: Image.Image) -> tuple[FoundSheet | None, object]:
        self.sought.append(image)
        if not self.sheet:
            return None, MISSED
        return FoundSheet(np.asarray(image), CORNERS, 1.0, 0.0), note("sheet-found", "a sheet")


def treated(source: Source | None = None, **settings: object) -> Treated:
    return drain(treated_steps(source or plain(), ArtworkSettings(**settings)))


def codes(found: Treated) -> list[str]:
    return [one.code for one in found.notes]


def test_a_drawing_stays_as_it_was_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(monkeypatch, "flat", photo=False)
    source = plain()
    assert treated(source) == Treated(source, "flat")
    assert (len(seen.looked), seen.sought) == (1, [])


@pytest.mark.parametrize("kind", ["flat", "paper", "scene"])
def test_a_sheet_that_is_found_is_made_straight_whatever_the_kind(
    monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    Seen(monkeypatch, kind, sheet=True)
    found = treated()
    assert (found.kind, codes(found)) == ("paper", ["sheet-found", "sheet-straightened"])
    assert found.sheet is not None
    assert found.source.image.size != SIZE
    there = np.array([0, 0, 1]) @ np.array(found.to_source).reshape(3, 3).T
    assert np.abs(there[:2] / there[2] - CORNERS[0]).max() < 6  # a little of the sheet's edge is left off


def test_without_a_sheet_paper_goes_on_with_a_note_and_a_scene_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for kind in ("flat", "paper"):
        Seen(monkeypatch, kind)
        found = treated()
        assert (found.kind, found.notes, found.to_source) == (kind, (MISSED,), AS_IT_IS)
    Seen(monkeypatch, "scene")
    with pytest.raises(ArtworkError, match=r"picture kite\.png looks like a photograph of a scene"):
        treated()


def test_a_part_of_a_scene_is_refused_as_the_whole_is(monkeypatch: pytest.MonkeyPatch) -> None:
    Seen(monkeypatch, "scene")
    with pytest.raises(ArtworkError, match="photograph of a scene"):
        treated(crop=(10.0, 10.0, 60.0, 50.0))


def test_a_picture_on_its_side_is_looked_at_upright(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(monkeypatch, "paper", sheet=True)
    found = treated(plain(orientation=6))
    assert [one.size for one in seen.sought] == [SIZE[::-1]]
    assert found.source.orientation == 1


@pytest.mark.parametrize(
    ("settings", "looked", "kind"),
    [
        ({"kind": "flat"}, False, "flat"),
        ({"kind": "paper"}, False, "paper"),
        ({"corners": tuple(map(tuple, CORNERS.tolist()))}, False, "paper"),
        ({"kind": "flat", "corners": tuple(map(tuple, CORNERS.tolist()))}, False, "flat"),
        ({"crop": (10.0, 10.0, 60.0, 50.0)}, True, "flat"),
        ({"kind": "paper", "crop": (10.0, 10.0, 60.0, 50.0)}, False, "paper"),
    ],
)
def test_what_the_user_says_is_not_asked_again(
    monkeypatch: pytest.MonkeyPatch, settings: dict[str, object], looked: bool, kind: str
) -> None:
    """A sheet is sought only where nothing was cut by hand and its kind is paper by order or by its looks."""
    seen = Seen(monkeypatch, "flat")
    found = treated(**settings)
    assert (bool(seen.looked), found.kind) == (looked, kind)
    assert bool(seen.sought) is (settings == {"kind": "paper"})
    if "crop" in settings:
        assert found.source.image.size == (60, 50)
        assert np.asarray(found.source.image)[0, 0].tolist() == [20, 20, 0]


def test_a_cut_out_is_drawn_and_never_sought_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is looked at on white; what is solid from 247 on is no cut-out."""
    for alpha, sought in ((246, False), (247, True)):
        seen = Seen(monkeypatch, "scene")
        source = plain("RGBA")
        source.image.putalpha(alpha)
        if sought:
            with pytest.raises(ArtworkError):
                treated(source)
        else:
            assert treated(source).kind == "flat"
        assert bool(seen.sought) is sought
        assert seen.looked[0].mode == "RGB"
        near = np.asarray(seen.looked[0])[0, 0].tolist()
        assert near == ([9, 9, 9] if alpha == 246 else [0, 0, 0])


@pytest.mark.parametrize(("kind", "box", "outcome"), [
    ("auto", (10, 20, 70, 80), (60, 60)), ("auto", None, SIZE), ("screenshot", (10, 20, 70, 80), (60, 60)),
])  # fmt: skip
def test_a_screenshot_is_cut_to_its_emblem_or_kept_where_there_is_none(
    monkeypatch: pytest.MonkeyPatch,
    kind: str,
    box: tuple[int, int, int, int] | None,
    outcome: tuple[int, int],
) -> None:
    Seen(monkeypatch, "screenshot")
    monkeypatch.setattr(treat, "emblem_box", lambda _rgb: box)
    found = treated(kind=kind)
    assert found.source.image.size == outcome
    assert found.kind == ("screenshot" if box else "flat")
    if box:
        (said,) = found.notes
        assert "artwork.crop = [10, 20, 60, 60] does" in said.message
        there = np.array([0, 0, 1]) @ np.array(found.to_source).reshape(3, 3).T
        assert there.tolist() == [10, 20, 1]


def test_a_screenshot_by_order_without_an_emblem_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(treat, "emblem_box", lambda _rgb: None)
    with pytest.raises(ArtworkError, match="shows nothing large that stands apart"):
        treated(kind="screenshot")


@pytest.mark.parametrize("mode", ["RGB", "L", "RGBA", "P"])
def test_dots_are_folded_in_every_mode_and_clear_pixels_stay(mode: str) -> None:
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    grey = np.where((rows + columns) % 2, 200, 40).astype(np.uint8)
    image = Image.fromarray(grey).convert(mode)
    if mode == "RGBA":
        alpha = np.full(grey.shape, 255, np.uint8)
        alpha[:, :20] = 0
        image.putalpha(Image.fromarray(alpha))
    found = treated(Source(image, "kite.png", 1, None, False), kind="dithered")
    assert codes(found) == ["dots-folded"]
    rgb = np.asarray(found.source.image)[..., :3].astype(int)
    assert np.abs(rgb[10:-10, 30:-10] - 120).max() <= 3
    if mode == "RGBA":
        assert np.array_equal(rgb[:, :20, 0], grey[:, :20])
