"""The job sheet stands alone, lets no text become markup, and says in words what the job says in numbers."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.documents.proof.proof import proof_png
from reliefsmith.documents.sheet.sheet import sheet_html
from reliefsmith.findings import note

from ..jobs import RED, assemble, kite, order_recipe, with_stock, with_texts
from ..pages import Page

PROOF = b"\x89PNG stands here for the proof"
HOSTILE = '<script>alert("1")</script>\'&amp;<img src=x onerror=alert(1)>]]>-->'


def one_motif(**values):
    """Return a job of two colors, which change once by height."""
    square, inner = shapely.box(-20, -10, 20, 10), shapely.box(-12, -6, 12, 6)
    recipe = order_recipe(**values)
    return assemble(square, [("red", RED, inner)], [(RED, inner)], hole=None, recipe=recipe, repaired=False)


@pytest.fixture(scope="module")
def html():
    return sheet_html(kite(), proof_png=PROOF)


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


def test_the_same_job_gives_the_same_bytes(html):
    assert sheet_html(kite(), proof_png=PROOF) == html


def test_the_policy_allows_just_the_style_and_script_that_are_in_the_page(page):
    policy = next(
        item["content"] for item in page.all("meta") if item.get("http-equiv") == "Content-Security-Policy"
    )
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    assert rules["base-uri"] == rules["form-action"] == "'none'"
    assert "unsafe" not in policy
    for tag, rule in (("style", "style-src"), ("script", "script-src")):
        texts = [data for kind, data in page.texts if kind == tag and not data.startswith("{")]
        hashes = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts]
        assert rules[rule].split() == [f"'sha256-{value}'" for value in hashes]
        assert len(texts) == 1


def test_the_page_refers_to_nothing_outside_itself(page):
    for tag, attributes in page.elements:
        assert "style" not in attributes, f"{tag} has a style that the policy refuses"
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href", "srcset", "action", "data", "poster", "xlink:href"):
            value = attributes.get(name)
            assert value is None or value.startswith(("data:image/png;base64,", "#"))
    style = next(data for kind, data in page.texts if kind == "style")
    assert "url(" not in style
    assert "@import" not in style
    script = [data for kind, data in page.texts if kind == "script"][-1]
    for word in ("http", "fetch(", "XMLHttpRequest", "eval(", "import(", "innerHTML", "localStorage"):
        assert word not in script


def test_every_link_inside_the_page_leads_somewhere_and_no_name_is_used_twice(page):
    names = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(names) == len(set(names))
    links = [item["href"].removeprefix("#") for item in page.all("a")]
    references = [
        attributes[key]
        for _, attributes in page.elements
        for key in ("aria-labelledby", "aria-describedby")
        if key in attributes
    ]
    fills = [re.fullmatch(r"url\(#(.*)\)", item["fill"]) for item in page.all("path") if "fill" in item]
    patterns = [found.group(1) for found in fills if found]
    assert patterns
    assert {*links, *references, *patterns} <= set(names)


def test_headings_go_down_one_step_at_a_time_and_every_picture_is_described(page):
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert all(item.get("alt") for item in page.all("img"))
    pictures = [item for item in page.all("svg") if item.get("aria-hidden") != "true"]
    assert [item["role"] for item in pictures] == ["img"] * len(pictures)
    assert len(page.all("title")) == 1 + len(pictures)
    assert page.all("html")[0]["lang"] == "en"
    assert all(item.get("scope") in {"col", "row"} for item in page.all("th"))


def test_markup_in_any_text_of_the_job_stays_text():
    plain, hostile = (Page(sheet_html(with_texts(kite(), text), proof_png=PROOF)) for text in ("x", HOSTILE))
    assert [tag for tag, _ in hostile.elements] == [tag for tag, _ in plain.elements]
    assert hostile.text().count(HOSTILE) >= 8  # title, customer, findings, changes, parts


@settings(max_examples=12)
@given(st.text(st.characters(min_codepoint=32, exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40))
def test_no_text_changes_the_elements_of_the_page(text):
    job = with_texts(one_motif(), text)
    expected = [tag for tag, _ in Page(sheet_html(with_texts(one_motif(), "x"), proof_png=PROOF)).elements]
    assert [tag for tag, _ in Page(sheet_html(job, proof_png=PROOF)).elements] == expected


def test_layers_of_several_colors_are_not_sold_as_one_pause(page):
    text = page.text()
    assert "Some layers hold more than one color" in text
    assert "Pause before layer" not in text


def test_the_plan_for_the_printer_at_hand_comes_first():
    one = Page(sheet_html(one_motif(), proof_png=PROOF)).text()
    several = Page(sheet_html(one_motif(**{"printer.filaments": 4}), proof_png=PROOF)).text()
    hand, loaded = "With one filament, changed by hand", "With several filaments loaded"
    assert one.index(hand) < one.index(loaded)
    assert several.index(loaded) < several.index(hand)


def test_filaments_from_the_stock_stand_in_the_color_plan_and_a_suggestion_does_not(html):
    said = Page(sheet_html(with_stock(kite()), proof_png=PROOF)).text()
    for words in (
        "nothing in stock",
        "Oda's berry (difference 1.2); else corn (44.4)",
        "corn (difference 2.3, not in stock)",
    ):
        assert words in said
    assert sheet_html(with_stock(kite(), asked=False), proof_png=PROOF) == html
    assert HOSTILE.encode() not in sheet_html(with_stock(kite(), name=HOSTILE), proof_png=PROOF)


def test_settings_findings_changes_and_totals_are_said(page):
    text = page.text()
    job = kite()
    for words in (
        "0.20 mm, the same from first to last",
        "13, 2.60 mm in all",
        "kite.3mf",
        "kite-red.stl",
        "Colors in a 3MF are a hint",
        "ribbon thickened from 0.4 to 0.9 mm",
        "a stroke is 0.7 mm wide at -8.0, 13.0 mm",
        "claims compliance with none",
        "from children under 3",
        "Not for food",
        "two turns of wire of up to 2.3 mm, free to swing",  # (5.0 - 0.4) / 2
        f"{job.inspection.estimate.cost * 12:.2f} EUR",
    ):
        assert words in text


def test_findings_are_marked_at_their_places(page):
    circles = [(float(item["cx"]), float(item["cy"])) for item in page.all("circle") if "stroke" in item]
    for item in kite().findings:
        if item.at_mm is not None:
            assert (item.at_mm[0], -item.at_mm[1]) in circles


def test_many_changes_of_a_kind_are_one_line_and_a_list_to_open():
    job = kite()
    notes = tuple(
        note("gap-closed", f"gap {n} closed", (n % 20 - 10.0, n // 20 - 5.0), 0.01 * (n + 1))
        for n in range(230)
    )
    page = Page(sheet_html(replace(job, plan=replace(job.plan, notes=notes)), proof_png=PROOF))
    text = page.text()
    assert "A gap too narrow to print was closed. 230 places, the largest 2.30 mm" in text
    assert len(page.all("details")) == 1
    assert "gap 229 closed" in text
    assert "gap 30 closed" in text
    assert "gap 29 closed" not in text
    assert "30 more in the report." in text
    # Every change has its dot; three of the kind have a letter as well.
    dots = [item for item in page.all("circle") if item.get("fill") == "#22262b" and "stroke" in item]
    assert len(dots) == 230 + sum(item.at_mm is not None for item in job.findings)


def test_a_job_without_hole_order_findings_and_changes_has_a_sheet():
    job = one_motif(**{"order.title": "", "order.customer": "", "order.code": "", "hang.hardware": "none"})
    text = Page(sheet_html(job, proof_png=PROOF)).text()
    for words in ("no hanging hole", "Nothing found", "printed as it came"):
        assert words in text


def test_a_piece_of_one_color_has_both_documents_and_no_change():
    square = shapely.box(-20, -10, 20, 10)
    job = assemble(square, [], [(RED, square)], hole=None, recipe=order_recipe(), repaired=False)
    text = Page(sheet_html(job, proof_png=proof_png(job))).text()
    assert "One color from first to last: no change." in text
    assert "Pause" not in text


def test_for_children_the_caution_is_there_and_no_test_is_claimed():
    text = Page(sheet_html(one_motif(audience="children"), proof_png=PROOF)).text()
    assert "not for children under 3" in text
    assert "not tested as a toy" in text
