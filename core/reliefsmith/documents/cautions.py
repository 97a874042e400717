"""The cautions of a piece, long for the job sheet and short for the proof: of it and of what holds it.

Nothing here claims compliance with anything.
"""

from __future__ import annotations

from ..model import Result
from .holders import Hardware

__all__ = ["caution_items", "caution_words", "short_cautions", "workshop_cautions"]

_EMERGENCY = "A swallowed magnet or button cell is an emergency: get medical help at once"

_OF_USE = {
    "magnet": (
        "Magnets: kept from children, glued in well, and the piece thrown away when one works loose. "
        f"{_EMERGENCY}, even if nothing hurts. Keep magnets away from pacemakers and other implants."
    ),
    "pin": "The needle has a sharp point: close it when the piece is not worn, and keep it from children.",
    "screw": (
        "Before you drill, make sure that no cable or pipe runs behind the wall, wear eye protection, and "
        "follow the rules of the place for work near mains. Screws are sharp and can be swallowed."
    ),
}
"""Cautions of hardware that can do more harm than what hangs from a loop; by its use."""

_OF_USE_SHORT = {
    "magnet": f"{_EMERGENCY}.",
    "pin": "Its pin has a sharp point.",
    "screw": "Its screw is sharp.",
}


def caution_items(result: Result, hardware: Hardware | None) -> list[str]:
    """Return the cautions of the job sheet, those of swallowing and of the hardware first."""
    whole = "the piece" if hardware is None else f"the piece and its {hardware.noun}"
    toy = (
        f"Small parts can be swallowed: keep {whole} from children under 3. It is no toy."
        if result.recipe.audience == "adults"
        else (
            "Planned with children in mind, but not tested as a toy. Small parts can be "
            "swallowed: not for children under 3."
        )
    )
    own = _OF_USE.get(hardware.use) if hardware is not None else None
    return [
        toy,
        *([own] if own is not None else []),
        *workshop_cautions(),
    ]


def workshop_cautions() -> list[str]:
    """Return the cautions of every print: of the printer, of the material, of the law."""
    return [
        (
            "Nozzle and bed are hot enough to burn. Change colors with the hand away from both, and "
            "let them cool before you clean."
        ),
        "Melting plastic gives off fumes and fine particles: air the room or filter, more so for a class.",
        "Not for food or the mouth: layers hold dirt, and colorants are not made for it.",
        "PLA softens from about 55 °C, as in a parked car in the sun.",
        (
            "Rules for toys, labels and sale differ from place to place: follow those of yours. "
            "This sheet claims compliance with none."
        ),
        "Print only drawings that you have the right to use.",
    ]


def caution_words(result: Result, hardware: Hardware | None) -> str:
    """Return the cautions of the proof, for whoever gets the piece."""
    return short_cautions(result.recipe.audience, hardware)


def short_cautions(audience: str, hardware: Hardware | None = None) -> str:
    """Return the cautions of a piece for an audience, and of what holds it."""
    toy = "Not a toy" if audience == "adults" else "Not tested as a toy"
    own = _OF_USE_SHORT.get(hardware.use, "") if hardware is not None else ""
    return (
        f"{toy}; keep it from children under 3, small parts can be swallowed. {own}{' ' if own else ''}"
        "Not for food. Softens in heat, from about 55 °C for PLA, as in a parked car. "
        "Printed colors differ from a screen's or a paper's; the filament decides."
    )
