"""The command line: statuses, streams, one line per error, nothing written on bad input."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest
from PIL import Image

from forked import run, started
from lamps import draw_lamp
from reliefsmith.command.cli import run as run_line
from reliefsmith.recipe.presets import preset_forms
from reliefsmith.walk.stages import STAGES

SAMPLES = Path(__file__).parents[3] / "samples"


@pytest.fixture(scope="module")
def lamp(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return draw_lamp(tmp_path_factory.mktemp("art") / "lamp.png")


def _bad_pictures(folder: Path) -> dict[str, Path]:
    folder.mkdir(exist_ok=True)
    whole = (SAMPLES / "kite.png").read_bytes()
    (folder / "cut.png").write_bytes(whole[: len(whole) // 3])
    (folder / "text.png").write_text("this is no picture\n")
    (folder / "empty.png").write_bytes(b"")
    Image.new("RGB", (1, 1), "red").save(folder / "pixel.png")
    Image.new("RGBA", (200, 200), (0, 0, 0, 0)).save(folder / "clear.png")
    Image.new("RGB", (300, 200), "white").save(folder / "blank.png")
    (folder / "folder.png").mkdir(exist_ok=True)
    names = ("cut", "text", "empty", "pixel", "clear", "blank", "folder", "missing")
    return {name: folder / f"{name}.png" for name in names}


@pytest.mark.parametrize("name", ["cut", "text", "empty", "pixel", "clear", "blank", "folder", "missing"])
def test_a_bad_picture_is_one_line_and_nothing_written(name: str, tmp_path: Path) -> None:
    path = _bad_pictures(tmp_path / "in")[name]
    work = tmp_path / "work"
    work.mkdir()
    done = run("make", str(path), cwd=work)
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert done.stderr.startswith("error: ")
    assert "Traceback" not in done.stderr
    assert list(work.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--width", "nan"), "size.width_mm must be a finite number"),
        (("--width=-3",), "size.width_mm must be between 5 and 2000"),
        (("--width", "wide"), "--width"),
        (("--colors", "0"), "--colors must be between 1 and 8"),
        (("--width", "40", "--height", "40"), "leave one out"),
        (("--set", "base.boarder_mm=2"), "did you mean base.border_mm"),
        (
            ("--set", 'marks=[{kind="erase", plygon_mm=[1, 2]}]'),
            "marks entry 1: unknown setting 'plygon_mm', did you mean polygon_mm",
        ),
        (("--set", 'marks=[{kind="erase", at=[1, 2]}]'), "marks entry 1: at must be text, got [1, 2]"),
        (("--set", "base.border_mm"), "--set needs SECTION.KEY=VALUE"),
        (("--set", "heights.style=floating"), "heights.style must be one of"),
        (("--recipe", "none.toml"), "there is no recipe at none.toml; check the name"),
        (("--preset", "none"), "there is no preset"),
        (("--colour", "3"), "--colo"),
    ],
)
def test_a_bad_word_is_one_line_and_nothing_written(
    words: tuple[str, ...], says: str, lamp: Path, tmp_path: Path
) -> None:
    done = run("make", str(lamp), *words, cwd=tmp_path)
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 1
    assert says in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_key_in_a_recipe_names_the_nearest(lamp: Path, tmp_path: Path) -> None:
    (tmp_path / "r.toml").write_text("[heights]\nbas_mm = 2\n")
    done = run("make", str(lamp), "--recipe", "r.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "did you mean heights.base_mm?" in done.stderr


def test_make_writes_the_files_of_the_contract(lamp: Path, tmp_path: Path) -> None:
    done = started("make", str(lamp), "--width", "60", cwd=tmp_path)
    assert done.returncode in {0, 1}, done.stderr
    assert done.stdout == ""
    folder = tmp_path / "lamp-relief"
    report = json.loads((folder / "lamp-report.json").read_text(encoding="utf-8"))
    names = {file.name for file in folder.iterdir()}
    assert names == {*report["files"], "lamp-report.json"}
    parts = [part["name"] for part in report["parts"]]
    assert parts[0] == "base"
    wanted = {".3mf", ".svg", ".glb", "-proof.png", "-sheet.html", "-recipe.toml", "-report.json"}
    assert names == {f"lamp{end}" for end in wanted} | {f"lamp-{part}.stl" for part in parts}
    assert abs(report["artwork_mm"][0] - 60) <= 0.01
    assert report["frame"]["image_px"] == [120, 120]


def test_json_goes_to_stdout_and_quiet_is_silent(lamp: Path, tmp_path: Path) -> None:
    done = run("make", str(lamp), "--json", "--quiet", "-o", "set", cwd=tmp_path)
    assert done.stderr == ""
    report = json.loads(done.stdout)
    assert report == json.loads((tmp_path / "set" / "lamp-report.json").read_text(encoding="utf-8"))


def test_verbose_shows_stage_times_on_stderr(lamp: Path, tmp_path: Path) -> None:
    done = run("make", str(lamp), "--verbose", cwd=tmp_path)
    assert "separation" in done.stderr
    assert " ms" in done.stderr


def test_kept_stages_are_used_again(lamp: Path, tmp_path: Path) -> None:
    first = run("make", str(lamp), "--keep-stages", "kept", "-o", "a", cwd=tmp_path)
    again = run("make", str(lamp), "--keep-stages", "kept", "-o", "b", cwd=tmp_path)
    assert first.returncode == again.returncode
    assert len(list((tmp_path / "kept").iterdir())) == len(STAGES)
    for file in (tmp_path / "a").iterdir():
        assert file.read_bytes() == (tmp_path / "b" / file.name).read_bytes()


def test_set_over_flag_over_recipe_over_preset(lamp: Path, tmp_path: Path) -> None:
    (tmp_path / "r.toml").write_text("[size]\nwidth_mm = 40\n[base]\nborder_mm = 1.5\n")
    words = ("--recipe", "r.toml", "--width", "50", "--set", "size.width_mm=61", "--json", "-q")
    report = json.loads(run("make", str(lamp), *words, cwd=tmp_path).stdout)
    assert abs(report["artwork_mm"][0] - 61) <= 0.01


@pytest.mark.parametrize("ending", ["svg", "geojson"])
def test_areas_writes_one_file(ending: str, lamp: Path, tmp_path: Path) -> None:
    done = run("areas", str(lamp), "-o", f"lamp.{ending}", "--width", "50", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert [item.name for item in tmp_path.iterdir()] == [f"lamp.{ending}"]


def test_marks_of_a_recipe_correct_areas_and_set_alike(lamp: Path, tmp_path: Path) -> None:
    """The lamp at 50 mm: a blue square of 100 px with a yellow disc of radius 30 px, so 15 mm, in it."""
    (tmp_path / "r.toml").write_text(
        '[[marks]]\nkind = "recolor"\nat_mm = [0, 0]\nvalue = "#d2322d"\n'
        '[[marks]]\nkind = "erase"\npolygon_mm = [[-26, -26], [-20, -26], [-20, -20], [-26, -20]]\n'
        '[[marks]]\nkind = "erase"\nat_mm = [-24, -24]\n'
    )
    words = ("--recipe", "r.toml", "--width", "50", "--json")
    done = run("areas", str(lamp), "-o", "lamp.svg", *words, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["artwork_mm"] == pytest.approx([50, 50], abs=0.02)  # also after a corner is gone
    blue, red = (item["area_mm2"] for item in found["areas"])
    assert [item["color"] for item in found["areas"]] == ["#1e5ac8", "#d2322d"]
    assert abs(red - 15 * 15 * math.pi) < 0.01 * red
    assert abs(blue + red - (50 * 50 - 5 * 5)) < 0.01 * blue
    assert [item["code"] for item in found["notes"]] == ["mark-applied", "mark-applied"]
    assert [item["code"] for item in found["findings"]] == ["mark-missed"]
    assert "erase mark 2 finds no area at (-24.00, -24.00) mm" in done.stderr
    report = json.loads(run("make", str(lamp), *words, "-q", cwd=tmp_path).stdout)
    assert "mark-missed" in [item["code"] for item in report["findings"]]
    assert "#d2322d" in [part["color"] for part in report["parts"]]
    kept = (tmp_path / "lamp-relief" / "lamp-recipe.toml").read_text(encoding="utf-8")
    assert '{kind = "recolor", at_mm = [0.0, 0.0], value = "#d2322d"},' in kept


def test_areas_writes_curves_where_asked_and_the_format_has_them(lamp: Path, tmp_path: Path) -> None:
    for ending in ("svg", "geojson"):
        for curves in ("lines", "bezier"):
            words = ("-o", f"{curves}.{ending}", "--set", f"areas.curves={curves}", "-q")
            assert run("areas", str(lamp), *words, cwd=tmp_path).returncode == 0
    lines, bezier = ((tmp_path / f"{name}.svg").read_text(encoding="utf-8") for name in ("lines", "bezier"))
    assert "C" not in re.sub(r"[^A-Z]", "", "".join(re.findall(r' d="([^"]*)"', lines)))
    points = sum(
        len(re.findall(r"-?[\d.]+[ ,]-?[\d.]+", data)) for data in re.findall(r' d="([^"]*)"', lines)
    )
    assert 8 <= sum(data.count("C") for data in re.findall(r' d="([^"]*)"', bezier)) <= points / 5
    assert (tmp_path / "lines.geojson").read_bytes() == (tmp_path / "bezier.geojson").read_bytes()


def test_areas_refuses_another_ending(lamp: Path, tmp_path: Path) -> None:
    done = run("areas", str(lamp), "-o", "lamp.dxf", cwd=tmp_path)
    assert done.returncode == 2
    assert ".geojson or .svg" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_check_reads_what_make_wrote(lamp: Path, tmp_path: Path) -> None:
    run("make", str(lamp), "-o", "set", cwd=tmp_path)
    done = run("check", "set/lamp.3mf", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["schema"] == 1
    parts = sorted(str(path) for path in (tmp_path / "set").glob("*.stl"))
    assert run("check", *parts, cwd=tmp_path).returncode == 0


def test_check_offers_a_safe_repair_and_does_it_when_asked(tmp_path: Path) -> None:
    corners = [(x, y, z) for z in (0, 3) for y in (0, 20) for x in (0, 30)]
    quads = [(1, 3, 4, 2), (5, 6, 8, 7), (1, 2, 6, 5), (3, 7, 8, 4), (1, 5, 7, 3), (6, 2, 4, 8)]
    text = "".join(f"v {x} {y} {z}\n" for x, y, z in corners)
    text += "".join(f"f {a} {b} {c}\nf {a} {c} {d}\n" for a, b, c, d in quads)
    broken = text.replace("f 6 2 4\n", "f 4 2 6\n")
    (tmp_path / "plate.obj").write_text(broken)
    done = run("check", "plate.obj", cwd=tmp_path)
    assert done.returncode == 1
    assert "--repair would do this to plate: 1 triangles turned round. Then it is closed." in done.stderr
    done = run("check", "plate.obj", "--repair", "mended", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "plate was repaired: 1 triangles turned round. Then it is closed." in done.stderr
    assert (tmp_path / "plate.obj").read_text() == broken
    assert run("check", "mended/plate.3mf", cwd=tmp_path).returncode == 0
    (tmp_path / "plate.obj").write_text(text.replace("f 6 2 4\n", ""))
    done = run("check", "plate.obj", "--repair", "open", cwd=tmp_path)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "open").exists()


def test_recipe_prints_toml_on_stdout(tmp_path: Path) -> None:
    done = run("recipe", cwd=tmp_path)
    assert done.returncode == 0
    assert done.stdout.startswith("schema = 1\n")
    assert "border_mm = 1.0  # " in done.stdout


def test_presets_lists_what_ships_and_what_each_is_for(tmp_path: Path) -> None:
    forms = preset_forms()
    done = run("presets", cwd=tmp_path)
    assert done.returncode == 0
    lines = [tuple(line.split(maxsplit=1)) for line in done.stdout.splitlines()]
    assert lines == [(name, form.about) for name, form in forms.items()]
    told = json.loads(run("presets", "--json", cwd=tmp_path).stdout)["presets"]
    assert told["coaster"]["caution"] == forms["coaster"].caution


def test_help_and_version(tmp_path: Path) -> None:
    assert run("--version", cwd=tmp_path).stdout.startswith("reliefsmith 0.")
    helped = run("make", "--help", cwd=tmp_path)
    assert helped.returncode == 0
    assert "--keep-stages" in helped.stdout


def test_no_input_and_no_foreign_file_is_replaced(lamp: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "badge.svg"
    assert run_line(["areas", str(lamp), "-o", str(drawing), "-q"]) == 0
    before = drawing.read_bytes()
    assert run_line(["areas", str(drawing), "-o", str(drawing), "-q", "--replace"]) == 2
    assert run_line(["make", str(drawing), "-o", str(tmp_path), "-q", "--replace"]) == 2
    assert run_line(["make", str(lamp), "-o", "", "-q"]) == 2
    assert [path.name for path in tmp_path.iterdir()] == ["badge.svg"]
    assert drawing.read_bytes() == before


def test_a_set_of_another_picture_gives_way_on_request_only(lamp: Path, tmp_path: Path) -> None:
    other = tmp_path / f"{lamp.stem}.jpg"
    Image.open(lamp).convert("RGB").save(other)
    out = tmp_path / "out"
    assert run_line(["make", str(lamp), "-o", str(out), "-q"]) == 0
    assert run_line(["make", str(lamp), "-o", str(out), "-q"]) == 0  # its own
    report = (out / f"{lamp.stem}-report.json").read_bytes()
    assert json.loads(report)["picture"]["name"] == lamp.name
    assert run_line(["make", str(other), "-o", str(out), "-q"]) == 2
    assert (out / f"{lamp.stem}-report.json").read_bytes() == report
    assert run_line(["make", str(other), "-o", str(out), "-q", "--replace"]) == 0
