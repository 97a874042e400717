"""Approval: the digest by its own rule, codes that show a slip, the text that is read back."""

from __future__ import annotations

import hashlib
import random
import re

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.walk.approval import approval_of, approval_of_sets, code_of, read_code, text_as_read

SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def _sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def test_the_digest_is_of_sorted_lines_of_geometry_recipe_and_text() -> None:
    """Taken by hand, "role, SHA-256" in each line; proof, sheet and SVG do not count."""
    recipe = Recipe().with_values({"order.spelling": "LARKWATER 26"})
    approved = {"kite.3mf": "1" * 64, "kite-base.stl": "2" * 64, "kite-recipe.toml": "3" * 64}
    others = {"kite-proof.png": "4" * 64, "kite-sheet.html": "5" * 64, "kite.svg": "6" * 64}
    lines = [
        f"3mf, {'1' * 64}",
        f"base.stl, {'2' * 64}",
        f"recipe.toml, {'3' * 64}",
        f"text, {_sha(b'spelling: LARKWATER 26')}",
    ]
    found = approval_of("kite", {**others, **approved}, recipe)
    assert found.digest == _sha("".join(f"{line}\n" for line in lines).encode())
    assert found.code == code_of(found.digest)
    assert approval_of("kite", dict(reversed(approved.items())), recipe) == found
    moved = {name.replace("kite", "reeds"): digest for name, digest in approved.items()}
    assert approval_of("reeds", moved, recipe) == found  # a set that is renamed is the same
    assert approval_of("kite", approved, Recipe()) != found


def test_sets_together_have_a_code_by_their_names_in_any_order() -> None:
    one = approval_of_sets({"1": "a" * 64, "2": "b" * 64})
    assert one == approval_of_sets({"2": "b" * 64, "1": "a" * 64})
    assert one != approval_of_sets({"1": "b" * 64, "2": "a" * 64})
    assert one.digest == _sha(f"1, {'a' * 64}\n2, {'b' * 64}\n".encode())


def test_a_code_is_letters_and_digits_only_with_its_value_modulo_37() -> None:
    rng = random.Random(1)
    for _ in range(300):
        digest = f"{rng.getrandbits(256):064x}"
        code = code_of(digest)
        assert re.fullmatch(f"[{SYMBOLS}]{{5}}-[{SYMBOLS}]{{5}}-[{SYMBOLS}]", code)
        value = 0
        for symbol in code[:11].replace("-", ""):
            value = value * 32 + SYMBOLS.index(symbol)
        assert SYMBOLS.index(code[-1]) == value % 37
        bits = f"{int(digest, 16):0256b}"
        assert f"{value:050b}" in {bits[start : start + 50] for start in range(0, 207, 5)}


def test_any_one_wrong_symbol_and_any_exchanged_neighbors_are_noticed() -> None:
    rng = random.Random(2)
    for _ in range(20):
        code = code_of(f"{rng.getrandbits(256):064x}").replace("-", "")
        wrong = {code[:at] + symbol + code[at + 1 :] for at in range(11) for symbol in SYMBOLS}
        wrong |= {code[:at] + code[at + 1] + code[at] + code[at + 2 :] for at in range(9)}
        for one in wrong - {code}:
            with pytest.raises(RecipeError, match="was misread"):
                read_code(one)


def test_codes_are_read_as_people_write_them() -> None:
    code = "0123Z-10ABC-"
    value = 0
    for symbol in code.replace("-", ""):
        value = value * 32 + SYMBOLS.index(symbol)
    code += SYMBOLS[value % 37] if value % 37 < 32 else pytest.skip("another example is needed")
    for said in (code.lower(), code.replace("-", " "), code.replace("0", "O").replace("1", "l"), f" {code} "):
        assert read_code(said) == code
    for said in ("", "0123Z", "0123Z-10ABC", "0123Z-10AB!-0", "ÄÖÜ"):
        with pytest.raises(RecipeError, match="is no approval code"):
            read_code(said)


def test_the_text_is_composed_and_holds_what_is_read_back() -> None:
    said = {"order.title": "Ce\u0301rf", "order.spelling": "A 1", "order.deadline": "soon"}
    assert text_as_read(Recipe().with_values(said)) == "title: C\u00e9rf\nspelling: A 1"
    assert text_as_read(Recipe()) == ""
    texts = [{"text": "MIRABEL", "at_mm": [0, -20]}]
    words = {"kind": "replace", "polygon_mm": [[0, 0], [9, 0], [9, 9]], "words": "TOBIN"}
    set_anew = Recipe().with_values({"lettering": texts, "marks": [words]})
    assert text_as_read(set_anew) == "lettering: MIRABEL\nlettering set anew: TOBIN"
