"""What counts as a set: a folder whose report vouches for every file by its hash."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

import pytest

from reliefsmith.errors import OutputError
from reliefsmith.formats import setreading
from reliefsmith.formats.setreading import file_digest, is_printable, read_listed, read_report, read_set
from reliefsmith.formats.setwriting import write_set

from .sets import NEW_SET, REPORT, write_heron


class TestReadSet:
    """What counts as a set."""

    def test_no_report_is_no_set(self, tmp_path: Path) -> None:
        state = read_set(tmp_path)
        assert not state.is_set
        assert state.problems == ("there is no report",)

    @pytest.mark.parametrize("change", ["missing", "changed", "longer"])
    def test_a_file_that_is_not_as_written_is_named(self, tmp_path: Path, change: str) -> None:
        write_heron(tmp_path, NEW_SET)
        path = tmp_path / "heron.svg"
        if change == "missing":
            path.unlink()
        else:
            path.write_bytes(b"new svG" if change == "changed" else b"new svg ")
        state = read_set(tmp_path)
        assert not state.is_set
        assert len(state.problems) == 1
        assert "heron.svg" in state.problems[0]

    def test_two_reports_need_a_name(self, tmp_path: Path) -> None:
        write_heron(tmp_path, NEW_SET)
        write_set(tmp_path, {"kite.svg": b"kite"}, "kite-report.json", {})
        assert not read_set(tmp_path).is_set
        assert read_set(tmp_path, "kite-report.json").is_set
        assert read_set(tmp_path, REPORT).is_set
        assert not read_set(tmp_path, "lantern-report.json").is_set

    def test_a_folder_that_is_not_there_is_one_plain_line(self, tmp_path: Path) -> None:
        with pytest.raises(OutputError, match=r"cannot read .*: no such file"):
            read_set(tmp_path / "nowhere")


def test_a_file_of_a_set_that_cannot_be_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_set(tmp_path, {"heron.svg": b"svg"}, "heron-report.json", {})

    class Refusing:
        @staticmethod
        def sha256() -> object:
            raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(setreading, "hashlib", Refusing)
    assert read_set(tmp_path).problems == ("heron.svg cannot be read: permission denied",)


HASH = "0" * 64


def test_a_hash_is_compared_to_its_last_digit(tmp_path: Path) -> None:
    digest = hashlib.sha256(b"kite").hexdigest()
    (tmp_path / "a").write_bytes(b"kite")
    for last, problems in (
        (digest[-1], ()),
        (f"{int(digest[-1], 16) ^ 1:x}", ("a was changed after it was written",)),
    ):
        (tmp_path / REPORT).write_text(json.dumps({"files": {"a": digest[:-1] + last}}), encoding="utf-8")
        assert read_set(tmp_path).problems == problems


@pytest.mark.parametrize(
    "files",
    [
        None, [], {"a": 3}, {"a": "0" * 63}, {"a": "0" * 65}, {"a": "G" * 64}, {"a": "A" * 64},
        {"": HASH}, {"..": HASH}, {".": HASH}, {"a/b": HASH}, {"a\\b": HASH}, {"c:a": HASH}, {"a\0": HASH},
        {"a": HASH, "../b": HASH},
    ],
)  # fmt: skip
def test_what_lists_other_folders_or_no_hashes_is_no_report(files: object) -> None:
    assert read_listed({"files": files}) is None
    assert read_listed({}) is None


def test_plain_names_are_listed_as_they_stand() -> None:
    files = {"héron ..svg": HASH, ".a": "0123456789abcdef" * 4}
    assert read_listed({"files": files}) == files
    assert read_listed({"files": {}}) == {}


@pytest.mark.parametrize("data", [b"[1]", b"{", b"", b"[" * 100_000, b'"\xff"', b"3"])
def test_a_broken_report_is_an_empty_one(tmp_path: Path, data: bytes) -> None:
    (tmp_path / REPORT).write_bytes(data)
    assert read_report(tmp_path / REPORT) == {}
    assert read_set(tmp_path).problems == (f"{REPORT} is no report",)


def test_a_report_of_just_the_greatest_size_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / REPORT).write_bytes(b'{"a": 1}')
    monkeypatch.setattr(setreading, "MAX_REPORT_BYTES", 8)
    assert read_report(tmp_path / REPORT) == {"a": 1}
    monkeypatch.setattr(setreading, "MAX_REPORT_BYTES", 7)
    assert read_report(tmp_path / REPORT) == read_report(tmp_path) == read_report(tmp_path / "none") == {}


def test_a_digest_is_that_of_hashlib_over_all_chunks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(setreading, "CHUNK_BYTES", 7)
    for data in (b"", b"kite", b"heron" * 21):
        (tmp_path / "a").write_bytes(data)
        assert file_digest(tmp_path / "a") == hashlib.sha256(data).hexdigest()
    os.mkfifo(tmp_path / "pipe")  # which nobody would ever write into
    assert file_digest(tmp_path / "pipe") == ""
    assert file_digest(tmp_path / "none") == file_digest(tmp_path) == ""


def test_hidden_files_are_no_reports_and_only_what_lists_files_is_one(
    tmp_path: Path,
) -> None:
    write_heron(tmp_path, NEW_SET)
    (tmp_path / f".reliefsmith-old-{REPORT}").write_bytes(b"")
    state = read_set(str(tmp_path))
    assert (state.is_set, state.report_name) == (True, REPORT)
    assert state.report == json.loads((tmp_path / REPORT).read_bytes())
    assert read_set(tmp_path, "heron.svg").problems == ("heron.svg is no report",)
    assert read_set(tmp_path, "../heron-report.json").problems == ("there is more than one report",)


@pytest.mark.parametrize(
    ("severities", "printable"), [([], True), (["note", "warn"], True), (["warn", "stop"], False)]
)
def test_only_a_stop_says_not_to_print(severities: list[str], printable: bool) -> None:
    assert is_printable({"findings": [{"severity": one} for one in severities]}) is printable
    assert is_printable({})
