"""The digest of what is approved, the code that stands for it, and whether files are still those.

The digest is taken of files, before the proof is drawn: a code from the report would have to hold itself,
since the report lists the proof. The code is 50 bits of the digest as 10 symbols of an alphabet without I, L,
O and U, and their value modulo 37 as a check symbol, which shows any one wrong symbol and any two exchanged
neighbors (Crockford's Base 32, https://www.crockford.com/base32.html; from memory). The 50 bits are the first
whose check is one of the 32 symbols too, in steps of one symbol: the five others of that alphabet, such as *
and $, are misread on paper and mean something to a shell.
"""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Mapping

from ..errors import RecipeError
from ..model import Approval
from ..recipe import Recipe
from ..recipe.hints import shown

__all__ = ["approval_of", "approval_of_sets", "code_of", "read_code", "text_as_read"]

_SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_COUNT, _BITS, _MODULUS = 10, 5, 37
_READ_AS = str.maketrans({"I": "1", "L": "1", "O": "0", "-": "", " ": ""})
_ORDER = ("title", "customer", "reference", "code", "spelling")


def approval_of(stem: str, files: Mapping[str, str], recipe: Recipe) -> Approval:
    """Return the approval of a set.

    Parameters
    ----------
    stem : str
        With which the names of its files begin.
    files : mapping of file name -> SHA-256 in hexadecimal
        All files of the set, or those that are approved: 3MF, STL and recipe.
    recipe : Recipe
    """
    roles = {name.removeprefix(stem).lstrip("-."): digest for name, digest in files.items()}
    own = {role: digest for role, digest in roles.items() if _is_approved(role)}
    text = hashlib.sha256(text_as_read(recipe).encode()).hexdigest()
    return _of_roles({**own, "text": text})


def approval_of_sets(digests: Mapping[str, str]) -> Approval:
    """Return the approval of several sets together, from the digest of each by its name."""
    return _of_roles(digests)


def text_as_read(recipe: Recipe) -> str:
    """Return what the customer reads back, a line for each that is given, composed (NFC).

    Examples
    --------
    >>> print(text_as_read(Recipe().with_values({"order.customer": "Tobin", "order.spelling": "TOBIN 7"})))
    customer: Tobin
    spelling: TOBIN 7
    """
    said = [(name, getattr(recipe.order, name)) for name in _ORDER]
    said += [("lettering", item.text) for item in recipe.lettering]
    said += [("lettering set anew", mark.words) for mark in recipe.marks]
    return "\n".join(f"{name}: {unicodedata.normalize('NFC', words)}" for name, words in said if words)


def code_of(digest: str) -> str:
    """Return the code of a digest, as 5-5 symbols and a check symbol.

    Examples
    --------
    >>> code_of("00" * 32), code_of("ff" * 32)
    ('00000-00000-0', 'ZZZZZ-ZZZZZ-X')
    """
    whole, mask = int(digest, 16), (1 << _COUNT * _BITS) - 1
    last = 4 * len(digest) - _COUNT * _BITS
    values = (whole >> shift & mask for shift in range(last, -1, -_BITS))
    value = next(one for one in values if one % _MODULUS < len(_SYMBOLS))  # one in 10^36 digests has none
    symbols = "".join(_SYMBOLS[value >> (_BITS * place) & 31] for place in reversed(range(_COUNT)))
    return f"{symbols[:5]}-{symbols[5:]}-{_SYMBOLS[value % _MODULUS]}"


def read_code(text: str) -> str:
    """Return a code as it was typed in the way it is written; case and hyphens do not count, O is read as 0.

    Raises
    ------
    RecipeError
        If it is none, or its check symbol says that it was misread.

    Examples
    --------
    >>> read_code("zzzzz zzzzzx"), read_code("ooooo-ooooo-o")
    ('ZZZZZ-ZZZZZ-X', '00000-00000-0')
    """
    symbols = text.strip().upper().translate(_READ_AS)
    if len(symbols) != _COUNT + 1 or set(symbols) - set(_SYMBOLS):
        raise RecipeError(f"{shown(text)} is no approval code, which has 10 symbols and a check symbol")
    value = 0
    for symbol in symbols[:_COUNT]:
        value = value << _BITS | _SYMBOLS.index(symbol)
    if _SYMBOLS.index(symbols[_COUNT]) != value % _MODULUS:
        raise RecipeError(f"{shown(text)} was misread: its check symbol does not fit; read it off again")
    return f"{symbols[:5]}-{symbols[5:_COUNT]}-{symbols[_COUNT]}"


def _is_approved(role: str) -> bool:
    return role in ("3mf", "recipe.toml") or role.endswith(".stl")


def _of_roles(digests: Mapping[str, str]) -> Approval:
    lines = "".join(f"{role}, {digest}\n" for role, digest in sorted(digests.items()))
    digest = hashlib.sha256(lines.encode()).hexdigest()
    return Approval(digest, code_of(digest))
