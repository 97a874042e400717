"""The job sheet in a real browser: quiet console, no request, a view that turns, narrow screens, paper."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest

import reliefsmith as rs
from reliefsmith.documents.proof.proof import proof_png
from reliefsmith.documents.sheet.sheet import sheet_html

from ..browser import Browser, browser_path
from ..jobs import kite

pytestmark = [
    pytest.mark.deep,
    pytest.mark.skipif(browser_path() is None, reason="needs the Debian package chromium"),
]

SAMPLES = Path(__file__).parents[4] / "samples"
PICTURE = "document.querySelector('canvas').toDataURL()"
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    job = kite()
    path = tmp_path_factory.mktemp("sheet") / "kite-sheet.html"
    path.write_bytes(sheet_html(job, proof_png=proof_png(job)))
    return path


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    browser = Browser(tmp_path_factory.mktemp("browser"))
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def axe(tmp_path_factory):
    """Return the accessibility checker's script, from the npm package axe-core."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("needs npm")
    folder = tmp_path_factory.mktemp("axe")
    subprocess.run([npm, "install", "--prefix", folder, "axe-core@4.10.3"], check=True, capture_output=True)
    return (folder / "node_modules/axe-core/axe.min.js").read_text(encoding="utf-8")


def test_the_console_is_quiet_and_nothing_is_asked_of_the_network(browser, sheet):
    browser.open(sheet)
    assert browser.complaints() == []
    assert browser.requests() == [sheet.as_uri()]


def test_the_view_shows_the_colors_and_turns_by_keyboard_and_back(browser, sheet):
    browser.open(sheet)
    assert browser.value("document.getElementById('view').hidden") is False
    browser.value("document.querySelector('canvas').focus()")
    first = browser.value(PICTURE)
    browser.key("ArrowRight")
    turned = browser.value(PICTURE)
    assert turned != first
    browser.key("ArrowLeft")
    assert browser.value(PICTURE) == first
    browser.key("+")
    assert browser.value(PICTURE) not in {first, turned}
    browser.key("Home")
    assert browser.value(PICTURE) == first


def test_the_front_shows_every_color_and_the_back_only_the_base(browser, sheet):
    browser.open(sheet)
    seen = """(() => {
      const canvas = document.querySelector('canvas');
      const data = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
      let [yellow, red, all] = [0, 0, 0];
      for (let i = 0; i < data.length; i += 4) {
        if (!data[i + 3]) continue;
        all += 1;
        if (data[i] > 150 && data[i + 1] > 120 && data[i + 2] < 100) yellow += 1;
        else if (data[i] > 120 && data[i + 1] < 80) red += 1;
      }
      return [yellow / all, red / all];
    })()"""
    wait = "new Promise((done) => setTimeout(() => done(1), 100))"
    click = "document.querySelector('[data-look={}]').click(), " + wait
    browser.value(click.format("front"))
    yellow, red = browser.value(seen)
    job = kite()
    shares = [motif.polygon.area / job.plan.base.area for motif in (job.plan.motifs[1], job.plan.motifs[0])]
    assert [yellow, red] == pytest.approx(shares, abs=0.02)
    browser.value(click.format("back"))
    assert browser.value(seen) == [0, 0]


def test_who_asks_for_less_motion_gets_steps(browser, sheet):
    for wish, moving in (("reduce", False), ("no-preference", True)):
        browser("Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": wish}])
        browser.open(sheet)
        pressed = (
            "document.querySelector('[data-turn]').click(),"
            "new Promise((done) => setTimeout(() => done("
            "document.querySelector('[data-turn]').getAttribute('aria-pressed')), 100))"
        )
        assert browser.value(pressed) == ("true" if moving else "false")
        one = browser.value(PICTURE)
        later = browser.value(f"new Promise((done) => setTimeout(() => done({PICTURE}), 400))")
        assert (one != later) == moving


@pytest.mark.parametrize("width", [320, 768, 1280])
def test_nothing_is_wider_than_the_screen(browser, sheet, width):
    screen = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
    browser("Emulation.setDeviceMetricsOverride", **screen)
    browser.open(sheet)
    assert browser.value("document.documentElement.scrollWidth") <= width
    browser("Emulation.clearDeviceMetricsOverride")


def test_the_accessibility_checker_finds_nothing(browser, sheet, axe):
    browser.open(sheet)
    browser.value(axe + "; 1")
    found = browser.value("axe.run(document).then((result) => JSON.stringify(result.violations))")
    violations = json.loads(found)
    assert [
        (item["id"], item["impact"], [node["html"] for node in item["nodes"]]) for item in violations
    ] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_on_paper_no_row_is_cut_and_nothing_is_lost(browser, sheet, paper, tmp_path):
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("needs the Debian package poppler-utils")
    browser.open(sheet)
    path = tmp_path / "sheet.pdf"
    path.write_bytes(browser.pdf(*PAPERS[paper]))
    text = subprocess.run([reader, "-layout", path, "-"], check=True, capture_output=True, text=True).stdout
    pages = text.rstrip("\f").split("\f")
    assert len(pages) <= 4
    words = " ".join(text.split())
    for shown in (
        "Settings the heights depend on",
        "When it looks wrong",
        "Total height is not as said above",
    ):
        assert shown in words
    assert "Drag to turn" not in words
    rows = browser.value("[...document.querySelectorAll('tbody th')].map((cell) => cell.innerText)")
    together = [" ".join(page.split()) for page in pages]
    for row in rows:
        first, last = row.split()[0], row.split()[-1]
        assert any(first in page and last in page for page in together)


def test_the_sample_takes_four_pages_at_most_and_no_row_of_a_table_is_alone_on_one(browser, tmp_path):
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("needs the Debian package poppler-utils")
    relief = rs.make(SAMPLES / "kite.png", rs.Recipe.load(SAMPLES / "kite.toml"))
    relief.write(tmp_path / "set")
    browser.open(tmp_path / "set" / "kite-sheet.html")
    path = tmp_path / "sheet.pdf"
    path.write_bytes(browser.pdf(*PAPERS["A4"]))
    text = subprocess.run([reader, "-raw", path, "-"], check=True, capture_output=True, text=True).stdout
    pages = ["".join(page.split()) for page in text.rstrip("\f").split("\f")]
    assert len(pages) <= 4
    tables = browser.value(
        "[...document.querySelectorAll('tbody')].map((body) => [...body.rows].map("
        "(row) => [...row.cells].map((cell) => cell.innerText).join('')))"
    )
    for rows in tables:
        on = [{number for number, page in enumerate(pages) if "".join(row.split()) in page} for row in rows]
        assert all(on), (rows, on)
        sure = {number for places in on if len(places) == 1 for number in places}
        assert sure, rows  # a short row may stand in another table's page too; its own has the sure ones
        counts = Counter(number for places in on for number in places & sure)
        assert len(sure) == 1 or min(counts.values()) > 1, rows
