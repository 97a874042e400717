"""What the reports of sets caution of, gathered for pages on many of them."""

from __future__ import annotations

from collections.abc import Iterable

from .finished import Finished

__all__ = ["row_cautions"]

_CODES = ("small-part", "sharp-tip", "magnet-caution", "pin-caution", "form-caution")


def row_cautions(sets: Iterable[Finished]) -> list[str]:
    """Return each caution once, after the names of the sets of which it is said."""
    rows: dict[str, list[str]] = {}
    for one in sets:
        for found in one.report.get("findings", ()):
            if found.get("code") in _CODES and one.name not in rows.setdefault(found["message"], []):
                rows[found["message"]].append(one.name)
    return [
        f"{'Row' if len(names) == 1 else 'Rows'} {', '.join(names)}: {message}"
        for message, names in rows.items()
    ]
