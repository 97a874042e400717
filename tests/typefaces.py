"""Fonts for tests: the shipped ones, and open ones that are fetched by `npm pack`, never committed."""

from __future__ import annotations

import subprocess
import tarfile
from functools import cache
from io import BytesIO
from typing import Any

from fontTools.ttLib import TTFont

from openart import cache_folder
from reliefsmith.model import FontFile
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.fonts import Face, face_of, shipped_font

EXPO = "@expo-google-fonts/"
"""Packages of fonts under the Open Font License, by script, each with one file."""

OPEN_FONTS = {
    "latin": ("nunito@0.4.2", "package/800ExtraBold/Nunito_800ExtraBold.ttf"),
    "arabic": ("amiri@0.4.1", "package/400Regular/Amiri_400Regular.ttf"),
    "devanagari": ("baloo-2@0.4.2", "package/800ExtraBold/Baloo2_800ExtraBold.ttf"),
    "script": ("dancing-script@0.4.2", "package/700Bold/DancingScript_700Bold.ttf"),
    "greek": ("ubuntu@0.4.1", "package/700Bold/Ubuntu_700Bold.ttf"),
    "thai": ("sarabun@0.4.1", "package/700Bold/Sarabun_700Bold.ttf"),
    "armenian": ("noto-sans-armenian@0.4.2", "package/700Bold/NotoSansArmenian_700Bold.ttf"),
    "georgian": ("noto-sans-georgian@0.4.3", "package/700Bold/NotoSansGeorgian_700Bold.ttf"),
}


def shipped(word: str) -> FontFile:
    """Return a shipped font."""
    return shipped_font(word, SHIPPED_FONTS[word])


@cache
def open_font(name: str) -> FontFile:
    """Return an open font, fetched once."""
    package, member = OPEN_FONTS[name]
    path = cache_folder() / f"expo-google-fonts-{package.replace('@', '-')}.tgz"
    if not path.exists():
        subprocess.run(["npm", "pack", f"{EXPO}{package}", "--silent"], check=True, cwd=cache_folder())
    with tarfile.open(path) as archive:
        file = archive.extractfile(member)
        assert file is not None
        return FontFile(member.rpartition("/")[2], file.read())


def face(file: FontFile) -> Face:
    """Return a font's face."""
    return face_of(file)


@cache
def tables(file: FontFile) -> Any:
    """Return a font's tables, read by fontTools."""
    return TTFont(BytesIO(file.data))
