"""The page of the beds: what lies on each, its map, when the filament is changed, what it takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from ..colorimetry import color_word, parse_hex
from ..findings import count_words
from .cautions import workshop_cautions
from .html import Markup, Piece, el, facts, listing, section, swatch, table
from .page import asset, page, png_data
from .sheet.care import time_words
from .wording import mm

__all__ = ["WHAT", "beds_html"]

WHAT = {
    "first": "The first piece, alone: look at it before you print the others.",
    "rest": "",
    "again": "Pieces that are made again.",
}


def beds_html(report: Mapping[str, Any], maps: Mapping[str, bytes]) -> bytes:
    """Write the page of beds as one self-contained HTML file in UTF-8.

    Parameters
    ----------
    report : mapping
        Of the beds, as it is written beside the page.
    maps : mapping of file name -> PNG
        The map of each bed.
    """
    beds = report["beds"]
    things = [piece.get("what", "") for bed in beds for piece in bed["pieces"]]
    pieces = sum(what in ("", "part-1") for what in things)
    title = f"{count_words(pieces, 'piece')} on {count_words(len(beds), 'bed')}"
    body = el(
        "body",
        el("header", el("p", "Beds", cls="kind"), el("h1", title), facts(_totals(report))),
        el(
            "main",
            *_left(report),
            section("beds", "In the order of printing", _overview(beds), *_again_words(report)),
            *(_bed(bed, maps[bed["map"]], report) for bed in beds),
            section("cautions", "Cautions", listing([*report["cautions"], *workshop_cautions()])),
        ),
    )
    return page(title, body, asset("sheet.css") + asset("beds.css"))


def _totals(report: Mapping[str, Any]) -> list[tuple[str, Piece]]:
    beds = report["beds"]
    warm_up = report["warm_up_min"]
    return [
        ("Bed", " × ".join(f"{side:g}" for side in report["bed_mm"]) + " mm"),
        ("Between pieces", f"{report['spacing_mm']:g} mm and more"),
        ("Printing, with warm-up", time_words(sum(bed["time_min"] + warm_up for bed in beds))),
        ("At the printer for changes", time_words(sum(bed["attended_min"] for bed in beds))),
        ("Color changes", str(sum(bed["changes"] for bed in beds))),
        ("Plastic", f"{mm(sum(bed['mass_g'] for bed in beds))} g"),
    ]


def _overview(beds: Sequence[Mapping[str, Any]]) -> Markup:
    rows = [
        (
            el("a", f"Bed {bed['number']}", href=f"#bed-{bed['number']}"),
            str(len(bed["pieces"])),
            _rows_words(bed),
            str(bed["changes"]),
            time_words(bed["time_min"]),
            f"{mm(bed['mass_g'])} g",
            "☐",
        )
        for bed in beds
    ]
    head = ("Bed", "Pieces", "Rows", "Color changes", "Printing", "Plastic", "Printed")
    return table(head, rows, caption="Printing is without warm-up; tick each bed when it is done")


def _rows_words(bed: Mapping[str, Any]) -> str:
    """Write which rows lie on a bed, and how often: "1 (12 times), 2"."""
    count = Counter(" ".join(filter(None, (piece["row"], piece.get("what")))) for piece in bed["pieces"])
    return ", ".join(row if times == 1 else f"{row} ({times} times)" for row, times in count.items())


def _again_words(report: Mapping[str, Any]) -> list[Piece]:
    example = report["beds"][0]["pieces"][0]["row"] if report["beds"] else "1"
    return [
        el(
            "p",
            "Did pieces fail? Type their numbers in, each as often as it failed, and they are laid onto the "
            "next bed: ",
            el("code", f"reliefsmith beds SETS -o THIS --again {example}"),
            ".",
        )
    ]


def _bed(bed: Mapping[str, Any], png: bytes, report: Mapping[str, Any]) -> Markup:
    number, what = bed["number"], WHAT[bed["what"]]
    image = el("img", src=png_data(png), alt=f"Map of bed {number} with the numbers of its rows", cls="map")
    rows: list[tuple[str, Piece]] = [
        ("File", bed["file"]),
        ("Pieces", str(len(bed["pieces"]))),
        ("Rows", _rows_words(bed)),
        ("Printing", f"{time_words(bed['time_min'])}, warm-up {mm(report['warm_up_min'], 0)} min"),
        ("At the printer for changes", time_words(bed["attended_min"])),
        ("Plastic", f"{mm(bed['mass_g'])} g"),
    ]
    about = [el("p", what)] if what else []
    plan = el("div", *about, facts(rows), el("h3", "Filament"), *_plan(bed))
    return section(f"bed-{number}", f"Bed {number}", el("div", el("figure", image), plan, cls="pair bed"))


def _plan(bed: Mapping[str, Any]) -> list[Piece]:
    """Write when which filament is loaded; where colors share layers only where each begins."""
    lines: list[Piece] = []
    for order, begins in enumerate(bed["begins"]):
        color = parse_hex(begins["color"])
        name = [swatch(begins["color"]), color_word(color)]
        if order == 0:
            lines.append(["Load ", *name, " before the start."])
        else:
            again = f", print {begins['print']}" if begins["print"] > 1 else ""
            lines.append([f"Layer {begins['layer']} ({mm(begins['z_mm'], 2)} mm{again}): ", *name, "."])
    items: list[Piece] = [listing(lines, ordered=True)]
    if bed["changes"] != bed["between"]:
        words = f"{bed['changes'] - bed['between']} of {bed['changes']} changes are within a layer."
        items.append(el("p", f"Colors share layers: {words}", cls="small"))
    return items


def _left(report: Mapping[str, Any]) -> list[Piece]:
    found = [item["message"] for item in report["findings"]]
    return [section("left", "Not laid", listing(found, cls="stop"))] if found else []
