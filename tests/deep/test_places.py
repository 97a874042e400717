"""The same bytes in strange places: locale, folder, names, links, no home, seeds, threads, no network."""

from __future__ import annotations

import locale
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from deep import runs

pytestmark = pytest.mark.deep

SAMPLES = Path(__file__).parents[2] / "samples"
PICTURES = {"kite": "kite.png", "heron": "heron.jpg", "lantern": "lantern.png"}
COMMA_LOCALES = ("de_DE.UTF-8", "fr_FR.UTF-8", "de_DE", "nl_NL.UTF-8")
SOURCES = Path("/usr/share/i18n/locales")
NO_NETWORK = """
import socket, sys
def refused(*_, **__):
    raise AssertionError("no network here")
socket.socket = socket.create_connection = socket.getaddrinfo = refused
from reliefsmith.command.cli import run
raise SystemExit(run(sys.argv[1:]))
"""
# Python formats numbers by itself, but C libraries follow the locale: it is set before they are loaded.
COMMA = """
import locale, sys
locale.setlocale(locale.LC_ALL, sys.argv.pop(1))
assert locale.localeconv()["decimal_point"] == ","
from reliefsmith.command.cli import run
raise SystemExit(run(sys.argv[1:]))
"""

ENVIRONMENTS: dict[str, dict[str, str]] = {
    "one thread": {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    "two threads": {"OMP_NUM_THREADS": "2", "OPENBLAS_NUM_THREADS": "2"},
    "eight threads": {"OMP_NUM_THREADS": "8", "OPENBLAS_NUM_THREADS": "8"},
    "hash seed 0": {"PYTHONHASHSEED": "0"},
    "hash seed 1": {"PYTHONHASHSEED": "1"},
    "hash seed 4294967295": {"PYTHONHASHSEED": "4294967295"},
    "no home": {"HOME": "/nonexistent", "XDG_CONFIG_HOME": "/nonexistent", "XDG_CACHE_HOME": "/nonexistent"},
    "plain locale": {"LC_ALL": "C", "LANG": "C"},
    "streams in ASCII": {"PYTHONIOENCODING": "ascii"},
    "another time zone": {"TZ": "Pacific/Kiritimati", "SOURCE_DATE_EPOCH": "1"},
    "optimized": {"PYTHONOPTIMIZE": "2"},
}


def _make(picture: Path, recipe: Path, folder: Path, *before: str, **env: str) -> dict[str, str]:
    words = ["make", str(picture), "--recipe", str(recipe), "-o", str(folder), "--quiet"]
    status, said = runs.finished(words, *before, **env)
    assert status in (0, 1), said
    assert said == ""
    return runs.content(folder)


@pytest.fixture(scope="module", params=PICTURES)
def sample(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, Path, dict[str, str]]:
    picture, recipe = SAMPLES / PICTURES[request.param], SAMPLES / f"{request.param}.toml"
    return picture, recipe, _make(picture, recipe, tmp_path_factory.mktemp("plain") / "set")


@pytest.mark.parametrize("name", ENVIRONMENTS)
def test_the_same_bytes_in_another_environment(
    sample: tuple[Path, Path, dict[str, str]], tmp_path: Path, name: str
) -> None:
    picture, recipe, wanted = sample
    assert _make(picture, recipe, tmp_path / "set", **ENVIRONMENTS[name]) == wanted


def test_the_same_bytes_without_a_network(sample: tuple[Path, Path, dict[str, str]], tmp_path: Path) -> None:
    picture, recipe, wanted = sample
    assert _make(picture, recipe, tmp_path / "set", "-c", NO_NETWORK) == wanted


def test_the_same_bytes_with_a_decimal_comma(
    sample: tuple[Path, Path, dict[str, str]], tmp_path: Path
) -> None:
    picture, recipe, wanted = sample
    name, env = _comma_locale(tmp_path)
    assert _make(picture, recipe, tmp_path / "set", "-c", COMMA, name, **env) == wanted


@pytest.mark.parametrize(
    "folder", ["with blanks  two", "凧と鷺", "Ωμέγα-été", "e\u0301", "'quoted' & $HOME;", "-dash"]
)
def test_the_same_bytes_under_another_path(
    sample: tuple[Path, Path, dict[str, str]], tmp_path: Path, folder: str
) -> None:
    picture, recipe, wanted = sample
    place = tmp_path / folder
    place.mkdir()
    for path in (picture, recipe):
        shutil.copy(path, place)
    assert _make(place / picture.name, place / recipe.name, place / "out put") == wanted


@pytest.mark.skipif(os.name != "posix", reason="links need no rights on POSIX systems only")
def test_the_same_bytes_through_links_from_a_folder_that_is_read_only(
    sample: tuple[Path, Path, dict[str, str]], tmp_path: Path
) -> None:
    picture, recipe, wanted = sample
    place, target = tmp_path / "read only", tmp_path / "target"
    place.mkdir()
    target.mkdir()
    (place / picture.name).symlink_to(picture)
    (tmp_path / "link").symlink_to(target, target_is_directory=True)
    place.chmod(0o555)
    assert _make(place / picture.name, recipe, tmp_path / "link" / "set") == wanted
    assert [path.name for path in place.iterdir()] == [picture.name]


def _comma_locale(tmp_path: Path) -> tuple[str, dict[str, str]]:
    """Return the name of a locale with a decimal comma, and the environment in which it is known.

    Where none is installed, one is compiled from the system's sources into a folder of its own.
    """
    name = next((one for one in COMMA_LOCALES if _is_there(one)), None)
    if name is not None:
        return name, {}
    compiler = shutil.which("localedef")
    if compiler is None or not SOURCES.is_dir():
        pytest.skip("no locale with a decimal comma here, and no sources to compile one from")
    folder = tmp_path / "locales"
    folder.mkdir()
    words = [compiler, "-i", "de_DE", "-f", "UTF-8", str(folder / COMMA_LOCALES[0])]
    subprocess.run(words, check=True, capture_output=True)
    return COMMA_LOCALES[0], {"LOCPATH": str(folder)}


def _is_there(name: str) -> bool:
    kept = locale.setlocale(locale.LC_ALL)
    try:
        locale.setlocale(locale.LC_ALL, name)
    except locale.Error:
        return False
    locale.setlocale(locale.LC_ALL, kept)
    return True
