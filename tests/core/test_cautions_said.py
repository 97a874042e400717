"""Both READMEs name every usual caution, in a section of its own."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HAZARDS = {
    "small parts": "[Ss]mall parts",
    "magnets": "[Mm]agnets",
    "button cells": "button cells",
    "what to do when swallowed": "get medical help at once",
    "points": "sharp tips",
    "pins": "[Pp]in",
    "drilling": "cables and pipes",
    "eyes": "eye protection",
    "heat": "bed",
    "fumes": "fumes|vapors",
    "glue": "epoxy",
    "dust": "dust",
    "food": "food safe",
    "rights": "may copy",
    "law": "local law",
    "no claim": "compliance",
}


@pytest.mark.parametrize("readme", ["README.md", "addon/README.md"])
@pytest.mark.parametrize("hazard", HAZARDS)
def test_the_caution_is_there(readme: str, hazard: str) -> None:
    text = (ROOT / readme).read_text(encoding="utf-8")
    (section,) = re.findall(r"^## Cautions\n(.*?)^## ", text, re.DOTALL | re.MULTILINE)
    assert re.search(HAZARDS[hazard], section)
