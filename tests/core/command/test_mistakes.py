"""Lines as a new user mistypes them: each is told in one sentence of ours what, where and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from reliefsmith.command import cli
from reliefsmith.recipe.hints import color_hint, flag_hint, number_hint, spelled
from reliefsmith.recipe.recipe import known_keys

SAMPLES = Path(__file__).parents[3] / "samples"
KITE = "kite.png"

LINES = {
    "make": "make needs a file after it, ARTWORK; try 'reliefsmith make --help'",
    "make|": "make got an empty name; give a file, ARTWORK",
    "make|a.png|b.png": "make takes one ARTWORK and got 'b.png' too; run it for each, quote names with",
    "make|my|kite.png": "quote names with spaces",
    "areas|kite.png|kite.svg": "put -o before a name to write to",
    "areas|kite.png": "areas needs -o FILE.svg|FILE.geojson: file to write",
    "areas|kite.png|-o|": "no file is given for the areas; name one that ends in .svg or .geojson",
    "areas|kite.png|-o|kite": "areas are written as .geojson or .svg; kite ends in neither",
    "areas|kite.png|-o|no/kite.svg": "cannot write no/kite.svg: its folder does not exist; make it first",
    "ways": "ways needs a file after it, ARTWORK; try 'reliefsmith ways --help'",
    "ways|kite.png|-o|": "the page of ways is written to a file that ends in .html, not to nothing",
    "ways|kite.png|-o|kite.svg": "the page of ways is written to a file that ends in .html, not to kite.svg",
    "ways|kite.png|--pick|2|-o|x.html": "the recipe of a way is written to a file that ends in .toml",
    "ways|kite.png|--pick|two": "--pick must be a whole number, got 'two'",
    "check": "check needs a file after it, FILE.3mf|FILE.stl|FILE.obj...",
    "check|": "check got an empty name",
    "check|kite.png": "cannot read parts from kite.png: the name must end in .3mf or .stl",
    "check|none.3mf": "there is no file or folder none.3mf; check the name",
    "check|none": "there is no file or folder none; check the name",
    "check|none|--approved|0": "there is no file or folder none; check the name",
    "coupon": "coupon needs -o DIR: folder of the test piece",
    "coupon|out": "coupon needs -o DIR: folder of the test piece; put -o before a name to write to",
    "coupon|-o|a|out": "coupon takes options only, got 'out'; try 'reliefsmith coupon --help'",
    "recipe|tag": "recipe takes options only, got 'tag'",
    "recipe|--preset|Bold": "there is no preset 'Bold', did you mean bold?",
    "mak|kite.png": "there is no command 'mak', did you mean make?",
    "Make|kite.png": "there is no command 'Make', did you mean make?",
    "kite.png": "there is no command 'kite.png'; for a picture say 'reliefsmith make kite.png'",
    "help": "there is no command 'help'; there are make, areas, ways, check, class, collect, batch, beds, "
    "quote, contact, forget, coupon, recipe, presets",
    "make|kite.png|--width|60mm": "--width must be a number, got '60mm'; write 60",
    "make|kite.png|--width|6,5": "--width must be a number, got '6,5'; write 6.5",
    "make|kite.png|--width|6cm": "--width must be a number, got '6cm'; give it in mm, as a number alone",
    "make|kite.png|--width|": "--width must be a number, got ''",
    "make|kite.png|--width": "--width needs a value after it, MM: width of the artwork in mm",
    "make|kite.png|--colors|many": "--colors must be a whole number, got 'many'",
    "make|kite.png|--colors=2.5": "--colors must be a whole number, got '2.5'",
    "make|kite.png|--colour|3": "make has no option --colour, did you mean --colors?",
    "make|kite.png|--output-dir|x": "make has no option --output-dir, did you mean --output?",
    "make|kite.png|-x": "make has no option -x; try 'reliefsmith make --help'",
    "make|kite.png|-qx": "make has no option -x; try 'reliefsmith make --help'",
    "make|kite.png|--json=yes": "--json takes no value; leave 'yes' out",
    "make|kite.png|--recipe|": "--recipe got an empty name; give R.toml, or leave --recipe out",
    "make|kite.png|-q|--keep-stages=": "--keep-stages got an empty name; give DIR, or leave",
    "make|kite.png|--recipe|none.toml": "there is no recipe at none.toml; check the name",
    "make|kite.png|--recipe|kite.png": "recipe kite.png is no text in UTF-8; is it the right file?",
    "make|kite.png|--recipe|folder": "recipe folder is no ordinary file; give a TOML file",
    "make|kite.png|--keep-stages|kite.png": "for stage values: file exists; choose another folder",
    "make|kite.png|-o|": 'no folder is given for the files; name one, "." for the current folder',
    "make|kite.png|-o|kite.png": "kite.png is a file; give a folder for the set",
    "make|none.png": "there is no picture at none.png; check the name",
    "make|folder": "folder is a folder; give one picture file",
}

SETTINGS = {
    "base.colour=#ff0000": "unknown setting base.colour, did you mean colors.base?",
    "colours.base=#ff0000": "unknown setting colours.base, did you mean colors.base?",
    "base.color=#ff0000": "unknown setting base.color, did you mean colors.base?",
    "count=3": "unknown setting count, did you mean colors.count?",
    "width=60": "unknown setting width, did you mean size.width_mm?",
    "hang.hole=4": "unknown setting hang.hole, did you mean hang.hole_mm?",
    "base.height_mm=2": "unknown setting base.height_mm, did you mean heights.base_mm?",
    "base.thickness=2": "unknown setting base.thickness; base has shape, border_mm, corners,",
    "a.b.c=1": "unknown setting a.b.c; there are schema, audience, marks, lettering, artwork, size,",
    "colors=3": "colors must be a table of settings, got 3; name one, such as colors.count",
    "colors.base=ff0000": "got 'ff0000'; write \"#ff0000\"",
    "colors.base=#F00": "got '#F00'; write \"#ff0000\"",
    "colors.base=red": "got 'red'; the picture has #1b2a49 (navy), #f5b82e (yellow), #1e8a8a (teal), #d8",
    "colors.omit=red": "the picture has #1b2a49 (navy)",
    "base.border_mm=1,5": "base.border_mm must be a number, got '1,5'; write 1.5",
    "size.width_mm=68mm": "size.width_mm must be a number, got '68mm'; write 68",
    "size.width_mm=7 cm": "size.width_mm must be a number, got '7 cm'; give it in mm, as a number alone",
    'base.border_mm="1.5"': "got '1.5'; write 1.5",
    "heights.style=Raised": "got 'Raised', did you mean raised?",
    "heights.style=rised": "got 'rised', did you mean raised?",
    "hang.hardware=split ring": "got 'split ring', did you mean split-ring?",
    "audience=Children": "audience must be one of adults, children, got 'Children', did you mean children?",
    "filaments.only_stock=yes": "filaments.only_stock must be true or false, got 'yes'; write true",
    "filaments.only_stock=0": "filaments.only_stock must be true or false, got 0; write false",
    'marks=[{kind="erase", at_mm="1,2"}]': "at_mm must be two numbers such as [1.5, -2], got '1,2'",
    "base.border_mm:2": "--set needs SECTION.KEY=VALUE, such as base.border_mm=1.5, got 'base.border_mm:2'",
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / KITE).write_bytes((SAMPLES / KITE).read_bytes())
    (tmp_path / "folder").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _told(words: list[str], folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """What a line that is refused is told: one line on stderr, and nothing is written."""
    assert cli.run(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.startswith("error: ")
    assert {path.name for path in folder.iterdir()} == {KITE, "folder"}
    assert list((folder / "folder").iterdir()) == []
    return err.removeprefix("error: ").strip()


@pytest.mark.parametrize("line", LINES)
def test_a_line_is_refused_in_our_words(line: str, folder: Path, capsys) -> None:
    told = _told(line.split("|"), folder, capsys)
    assert LINES[line] in told
    for word in ("argument", "Invalid", "parse", "Errno", "Possible"):  # those of the libraries
        assert word not in told


@pytest.mark.parametrize("text", SETTINGS)
def test_a_setting_is_refused_with_what_was_meant(text: str, folder: Path, capsys) -> None:
    assert SETTINGS[text] in _told(["make", KITE, "--set", text], folder, capsys)


@pytest.mark.parametrize("key", [key for key in known_keys() if "." in key])
def test_a_key_that_is_turned_or_lacks_its_section_is_found_again(key: str) -> None:
    section, _, last = key.partition(".")
    keys = known_keys()
    alike = {one for one in keys if one.partition(".")[2].removesuffix("_mm") == last.removesuffix("_mm")}
    assert spelled(last, keys) in alike | set(keys[:3])
    assert spelled(f"{last}.{section}", keys) == key
    assert spelled(key.upper().replace("_", "-"), keys) == key


def test_hints_say_nothing_where_nothing_is_meant() -> None:
    assert number_hint("wide") == number_hint("") == number_hint(None) == number_hint("1.2.3") == ""
    assert color_hint("red") == color_hint("#12345") == color_hint(7) == ""
    assert flag_hint("maybe") == flag_hint(None) == flag_hint(2) == ""
    assert spelled("zebra", ["raised", "sunk"]) == spelled("", []) == ""
