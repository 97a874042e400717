"""What to do about a mistaken word or value: the name that was meant, and how the value is written."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher
from typing import Any

__all__ = ["color_hint", "flag_hint", "nearest", "number_hint", "offered", "shown", "spelled"]

_MOST_SHOWN = 60  # characters of a bad value that an error quotes
_LIKE, _LIKE_OWN = 0.7, 0.95
_NUMBER = re.compile(r"([-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(\D*)")
_HEX = re.compile(r"#?([0-9a-f]{3}|[0-9a-f]{6})", re.IGNORECASE)
_YES, _NO = ("true", "yes", "on", "1"), ("false", "no", "off", "0")


def shown(value: Any) -> str:
    """Return a bad value as an error quotes it: cut short, and never failing.

    Examples
    --------
    >>> shown("1.5"), shown([1, 2]), shown(1 << 99_999)
    ("'1.5'", '[1, 2]', 'a very long number')
    """
    try:
        text = repr(value)
    except ValueError:  # Python writes no whole number of more than 4300 digits
        return "a very long number"
    except RecursionError:
        return "something nested too deep"
    return text if len(text) <= _MOST_SHOWN else f"{text[: _MOST_SHOWN - 3]}..."


def spelled(word: str, known: Iterable[str]) -> str:
    """Return the known word that is nearest to one, or an empty string.

    Of dotted keys also the turned one counts ("base.colour" for `colors.base`) and, for a word without a
    section, the last part alone ("count" for `colors.count`); case, dashes and the unit at the end do not.

    Examples
    --------
    >>> spelled("base.colour", ["base.corners", "colors.base"]), spelled("Raised", ["raised", "sunk"])
    ('colors.base', 'raised')
    """
    asked = _folded(word)
    likeness, best = max(
        ((_likeness(asked, _folded(one)), one) for one in known), key=lambda pair: pair[0], default=(0, "")
    )
    return best if likeness >= _LIKE else ""


def nearest(word: str, known: Iterable[str]) -> str:
    """Return ", did you mean X?" for the nearest known word, or an empty string.

    Examples
    --------
    >>> nearest("base.colour", ["base.corners", "colors.base"])
    ', did you mean colors.base?'
    """
    close = spelled(word, known)
    return f", did you mean {close}?" if close else ""


def offered(word: str, known: Sequence[str]) -> str:
    """Return what to say after an unknown key: the nearest of all, else those that are there.

    Examples
    --------
    >>> offered("hang.depth", ["hang.holes", "hang.hole_mm", "size.width_mm"])
    '; hang has holes, hole_mm'
    >>> offered("a.b", ["hang.holes", "hang.hole_mm", "size.width_mm"])
    '; there are hang, size'
    """
    if close := nearest(word, known):
        return close
    section = word.partition(".")[0]
    if own := [key.partition(".")[2] for key in known if key.startswith(f"{section}.")]:
        return f"; {section} has {', '.join(own)}"
    return f"; there are {', '.join(dict.fromkeys(key.partition('.')[0] for key in known))}"


def number_hint(value: Any, unit: str = "", *, whole: bool = False) -> str:
    """Return how a text that holds a number is written as one, or an empty string.

    Examples
    --------
    >>> number_hint("1,5", "mm"), number_hint("68 mm", "mm"), number_hint("6cm", "mm"), number_hint("wide")
    ('; write 1.5', '; write 68', '; give it in mm, as a number alone', '')
    """
    match = _NUMBER.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        return ""
    number, said = match[1].replace(",", ".").removesuffix("."), match[2].strip().lower()
    if said not in ("", unit.lower()):
        return f"; give it in {unit}, as a number alone" if unit else "; write the number alone"
    return "" if whole and "." in number else f"; write {number}"


def flag_hint(value: Any) -> str:
    """Return which of true and false a value means, or an empty string.

    Examples
    --------
    >>> flag_hint("yes")
    '; write true'
    """
    said = str(value).strip().lower() if isinstance(value, (str, int)) else ""
    return "; write true" if said in _YES else "; write false" if said in _NO else ""


def color_hint(value: Any) -> str:
    """Return how a color that is written otherwise is written here, or an empty string.

    Examples
    --------
    >>> color_hint("D8392B"), color_hint("#f80"), color_hint("red")
    ('; write "#d8392b"', '; write "#ff8800"', '')
    """
    match = _HEX.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        return ""
    digits = match[1].lower()
    return f'; write "#{digits if len(digits) == 6 else "".join(one * 2 for one in digits)}"'


def _folded(word: str) -> str:
    """Return a word without what people write in several ways."""
    plain = word.strip().lower().replace("-", "_").replace(" ", "_").replace("colour", "color")
    return plain.removesuffix("_mm")


def _likeness(asked: str, key: str) -> float:
    section, dot, last = key.partition(".")
    found = _ratio(asked, key)
    if not dot:
        return found
    if "." not in asked:
        return max(found, _LIKE_OWN * _ratio(asked, last))
    return max(found, _LIKE_OWN * _ratio(asked, f"{last}.{section}"))


def _ratio(one: str, other: str) -> float:
    """Return how alike two words are; 0 where their lengths alone leave less than counts."""
    matcher = SequenceMatcher(None, one, other, autojunk=False)
    return matcher.ratio() if matcher.real_quick_ratio() >= _LIKE else 0.0
