"""Seeded changes of bytes and of text, as they go wrong in real files and as somebody would make them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from random import Random
from typing import TypeAlias

__all__ = ["NUMBERS", "STRANGE", "Mutator", "mutated_binary", "mutated_text"]

Mutator: TypeAlias = Callable[[Random, Sequence[bytes]], bytes]

MAX_CASE_BYTES = 1 << 16
_EDGES = (0, 1, 2, 3, 7, 8, 15, 16, 17, 127, 128, 255, 256, 32767, 32768, 65535, 65536, 100_000)
_HUGE = (2**24, 2**31 - 1, 2**31, 2**32 - 1, 2**63 - 1, 2**64 - 1)
_PLAIN_NUMBERS = """nan inf -inf -nan +0 -0 0 -1 1 2 15 16 0.5 1e999 -1e999 1e-999 1e308 1e40 4294967296
9223372036854775808 -9223372036854775809 1_0 0x7f \u0661\u0662 1,5 1e . - true [] {} 1979-05-27"""
NUMBERS = (
    *_PLAIN_NUMBERS.split(),
    *('""', "''", "9" * 400, "9" * 5000, "0." + "3" * 400, "0x" + "f" * 5000),
)
STRANGE = (
    *("\0", "\x1b[2J", "\r", "\n", "\t", "\x7f", "\u202e", "\ufeff", "\ud800", "\uffff", "\U0001f3ee"),
    *("\u00e9", "e\u0301", "<", ">", "&", '"', "'", "]]>", "<!--", "-->", "<?x?>", "&#0;", "&amp;", "&x;"),
    *("../", "\\", "%s", "{0}", "$(", "=", "#", ".", "..", "con", "nul.3mf", "url(#a)", "url(/etc/passwd)"),
    *("<!DOCTYPE x [<!ENTITY a 'b'>]>", "file:///etc/passwd", "http://larkwater.invalid/"),
    *("a" * 300, "[" * 300, "{" * 40),
)
_NUMBER = re.compile(r"[-+]?[0-9][0-9.]*(?:e[-+]?[0-9]+)?")
_WORD = re.compile(r"[A-Za-z_#][\w:.#-]*")
_CUT = re.compile(r"(?<=[\s>])")


def mutated_binary(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change bytes, whole integers or stretches of one seed, one to six times."""
    data = bytearray(rng.choice(seeds))
    for _ in range(1 + min(int(rng.expovariate(0.7)), 5)):
        rng.choice(_BINARY)(rng, data, seeds)
    return bytes(data[:MAX_CASE_BYTES])


def mutated_text(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change numbers, words and lines of one text, one to five times; sometimes its bytes as well."""
    text = rng.choice(seeds).decode("utf-8", "surrogateescape")
    for _ in range(1 + min(int(rng.expovariate(0.8)), 4)):
        text = rng.choice(_TEXT)(rng, text, seeds)[:MAX_CASE_BYTES]
    data = text.encode("utf-8", "surrogatepass" if rng.random() < 0.5 else "replace")
    return mutated_binary(rng, [data or b" "]) if rng.random() < 0.1 else data


def _place(rng: Random, data: bytearray) -> int:
    """Return a place; file heads are where decisions are made."""
    last = max(len(data) - 1, 0)
    return rng.randint(0, min(last, 64)) if rng.random() < 0.4 else rng.randint(0, last)


def _flip(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    if data:
        data[_place(rng, data)] ^= 1 << rng.randrange(8)


def _set_byte(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    if data:
        data[_place(rng, data)] = rng.choice((0, 1, 0x7F, 0x80, 0xFF, rng.randrange(256)))


def _set_number(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    size, order = rng.choice((2, 4, 4, 8)), rng.choice(("little", "big"))
    value = rng.choice((*_EDGES, *_HUGE, rng.randrange(1 << 8 * size))) % (1 << 8 * size)
    at = _place(rng, data)
    data[at : at + size] = value.to_bytes(size, order)  # type: ignore[arg-type]


def _cut(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    at = _place(rng, data)
    del data[at : at + 1 + int(rng.expovariate(0.05))]


def _end(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    del data[_place(rng, data) :]


def _repeat(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    at = _place(rng, data)
    piece = data[at : at + rng.choice((1, 4, 12, 50, 200))]
    data[at:at] = piece * rng.choice((1, 2, 10, 200))


def _insert(rng: Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    at = _place(rng, data)
    data[at:at] = rng.randbytes(rng.choice((1, 2, 4, 16)))


def _splice(rng: Random, data: bytearray, seeds: Sequence[bytes]) -> None:
    other = rng.choice(seeds)
    start = rng.randrange(len(other) + 1)
    at = _place(rng, data)
    piece = other[start : start + rng.choice((8, 32, 128, 4096))]
    data[at : at + rng.choice((0, len(piece)))] = piece


_BINARY = (
    _flip,
    _flip,
    _set_byte,
    _set_byte,
    _set_number,
    _set_number,
    _cut,
    _end,
    _repeat,
    _insert,
    _splice,
)


def _swap_token(rng: Random, text: str, pattern: re.Pattern[str], new: str) -> str:
    start = rng.randrange(len(text) + 1)
    match = pattern.search(text, start) or pattern.search(text)
    return text if match is None else text[: match.start()] + new + text[match.end() :]


def _new_number(rng: Random, text: str, _seeds: Sequence[bytes]) -> str:
    plain = str(rng.choice((rng.randrange(-5, 400), round(rng.uniform(-3, 90), 3), *_EDGES, *_HUGE)))
    return _swap_token(rng, text, _NUMBER, plain if rng.random() < 0.5 else rng.choice(NUMBERS))


def _new_word(rng: Random, text: str, seeds: Sequence[bytes]) -> str:
    words = _WORD.findall(rng.choice(seeds)[:20_000].decode("utf-8", "replace")) or ["x"]
    return _swap_token(rng, text, _WORD, rng.choice(words))


def _strange(rng: Random, text: str, _seeds: Sequence[bytes]) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(STRANGE) * rng.choice((1, 1, 1, 1, 2, 100)) + text[at:]


def _odd_word(rng: Random, text: str, _seeds: Sequence[bytes]) -> str:
    return _swap_token(rng, text, _WORD, rng.choice(STRANGE))


def _move_piece(rng: Random, text: str, _seeds: Sequence[bytes]) -> str:
    """Drop, double, or move one piece between blanks or brackets."""
    pieces = _CUT.split(text)
    piece = pieces.pop(rng.randrange(len(pieces)))
    for _ in range(rng.choice((0, 1, 2, 2, 60))):
        pieces.insert(rng.randrange(len(pieces) + 1), piece)
    return "".join(pieces)


def _cut_text(rng: Random, text: str, _seeds: Sequence[bytes]) -> str:
    start = rng.randrange(len(text) + 1)
    stop = len(text) if rng.random() < 0.3 else start + 1 + int(rng.expovariate(0.05))
    return text[:start] + text[stop:]


_TEXT = (_new_number, _new_number, _new_word, _new_word, _strange, _odd_word, _move_piece, _cut_text)
