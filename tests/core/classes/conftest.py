"""A class of three, its sheets photographed: made once, and read once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from classphotos import sheet_photo
from reliefsmith.command.cli import run
from sheetphotos import photograph

NAMES = ("Mirabel Tobin", "Zoë Lanternwright", "Ada Reedley")


@pytest.fixture(scope="session")
def photographs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the list, and in `photos` sheets 1, 2 and 3, in another order than by number."""
    folder = tmp_path_factory.mktemp("class")
    (folder / "names.csv").write_text("name\n" + "\n".join(NAMES) + "\n", encoding="utf-8")
    (folder / "photos").mkdir()
    for place, number in enumerate((3, 1, 2)):
        photo = sheet_photo(60 + place, number=number, name=NAMES[number - 1], megapixels=2.0, strokes=3)
        photo.image.save(folder / "photos" / f"IMG_{place}.jpg", quality=90)
    return folder


@pytest.fixture(scope="session")
def collected(photographs: Path) -> Path:
    words = ["--list", str(photographs / "names.csv"), "-o", str(photographs / "class"), "--quiet"]
    assert run(["collect", str(photographs / "photos"), *words]) == 0
    return photographs


@pytest.fixture
def spoiled(photographs: Path, tmp_path: Path) -> Path:
    """Photographs with sheet 2 twice, a bare table, a damaged file, and sheet 9, which the list lacks."""
    folder = tmp_path / "photos"
    shutil.copytree(photographs / "photos", folder)
    shutil.copy(folder / "IMG_2.jpg", folder / "IMG_3.jpg")
    photograph(5, sheet=False, megapixels=1.0).image.save(folder / "IMG_4.jpg", quality=90)
    (folder / "IMG_5.jpg").write_bytes((folder / "IMG_0.jpg").read_bytes()[:3000])
    sheet_photo(63, number=9, megapixels=2.0, strokes=1).image.save(folder / "IMG_6.jpg", quality=90)
    return folder
