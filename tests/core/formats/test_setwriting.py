"""Writing a set: the old one or the whole new one, whatever fails."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from reliefsmith.errors import OutputError, TakenError
from reliefsmith.formats.setwriting import NEW, Claim, read_set, write_file, write_set

from .sets import HERON, NEW_SET, OLD_SET, REPORT, content, files_of, is_new, is_old, write_heron

CALLS = ("write", "fsync", "replace", "open", "unlink")


def test_a_set_is_written_with_the_hash_of_every_file(tmp_path: Path) -> None:
    report = write_set(tmp_path / "a" / "b", NEW_SET, REPORT, {"schema": 1, "files": {}, "style": "flush"})
    stored = json.loads((tmp_path / "a" / "b" / REPORT).read_text(encoding="utf-8"))
    assert stored == report
    assert list(stored) == ["schema", "files", "style"]
    assert stored["files"] == {name: hashlib.sha256(data).hexdigest() for name, data in NEW_SET.items()}
    assert files_of(tmp_path / "a" / "b") == dict(sorted(NEW_SET.items()))
    assert read_set(tmp_path / "a" / "b").is_set


def test_iterables_of_bytes_are_joined(tmp_path: Path) -> None:
    write_set(tmp_path, {"kite.svg": iter([b"a", b"b"])}, REPORT, {})
    assert (tmp_path / "kite.svg").read_bytes() == b"ab"


def test_the_same_set_gives_the_same_report_bytes(tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_heron(tmp_path / name, NEW_SET)
    assert content(tmp_path / "one") == content(tmp_path / "two")


def test_files_of_the_old_run_go_and_other_files_stay(tmp_path: Path) -> None:
    write_heron(tmp_path, OLD_SET)
    (tmp_path / "my notes.txt").write_bytes(b"mine")
    (tmp_path / "heron-green.stl").write_bytes(b"made by hand, in no report")
    write_heron(tmp_path, NEW_SET)
    kept = {"my notes.txt": b"mine", "heron-green.stl": b"made by hand, in no report"}
    assert files_of(tmp_path) == dict(sorted({**NEW_SET, **kept}.items()))


@pytest.mark.parametrize("name", ["../outside.txt", "/etc/outside", "..", "sub/inside"])
@pytest.mark.parametrize("claim", [Claim(), Claim(replace=True)], ids=["own", "all"])
def test_an_old_report_cannot_make_other_folders_lose_files(tmp_path: Path, name: str, claim: Claim) -> None:
    folder = tmp_path / "set"
    (folder / "sub").mkdir(parents=True)
    (folder / "sub" / "inside").write_bytes(b"keep")
    (tmp_path / "outside.txt").write_bytes(b"keep")
    (folder / REPORT).write_text(json.dumps({"files": {name: "0" * 64}, **HERON}), encoding="utf-8")
    with contextlib.nullcontext() if claim.replace else pytest.raises(TakenError, match=REPORT):
        write_set(folder, NEW_SET, REPORT, HERON, claim)
    assert (tmp_path / "outside.txt").read_bytes() == b"keep"
    assert (folder / "sub" / "inside").read_bytes() == b"keep"


@pytest.mark.parametrize("text", ["", "[]", '{"files": 3}', '{"files": {"a": 3}}', "[" * 100_000, "\ud800"])
def test_what_is_no_report_is_a_file_like_others(tmp_path: Path, text: str) -> None:
    """It may be anything that somebody named so; only who is told to replace it does."""
    (tmp_path / REPORT).write_bytes(text.encode(errors="surrogatepass"))
    before = content(tmp_path)
    assert not read_set(tmp_path).is_set
    with pytest.raises(TakenError, match=f"{REPORT} was not written by an earlier run of this picture"):
        write_heron(tmp_path, NEW_SET)
    assert content(tmp_path) == before
    write_set(tmp_path, NEW_SET, REPORT, HERON, Claim(replace=True))
    assert read_set(tmp_path).is_set


class _Faults:
    """Lets the n-th of the counted system calls fail, and those after it too if it is asked to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *, code: int, lasting: bool) -> None:
        self.left = -1
        self.code, self.lasting = code, lasting
        self.calls: list[str] = []
        for name in CALLS:
            monkeypatch.setattr(os, name, self._counted(name, getattr(os, name)))

    def _counted(self, name: str, call: Callable[..., object]) -> Callable[..., object]:
        def run(*args: object, **kwargs: object) -> object:
            if self.left >= 0 or (self.left == -2 and self.lasting):
                self.calls.append(name)
                if self.left <= 0:
                    self.left = -2
                    raise OSError(self.code, os.strerror(self.code))
                self.left -= 1
            return call(*args, **kwargs)

        return run

    @contextlib.contextmanager
    def at(self, number: int) -> Iterator[None]:
        self.left = number
        self.calls.clear()
        try:
            yield
        finally:
            self.left = -1

    @property
    def fired(self) -> bool:
        return self.left == -2


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_each_single_fault_leaves_the_old_set_whole_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    faults = _Faults(monkeypatch, code=code, lasting=False)
    failed: list[str] = []
    for number in range(1000):
        folder = tmp_path / f"{number}"
        write_heron(folder, OLD_SET)
        before = content(folder)
        error = None
        with faults.at(number):
            try:
                write_heron(folder, NEW_SET)
            except OutputError as caught:
                error = caught
            fired = faults.fired
        if not fired:
            break
        failed.append(faults.calls[-1])
        if error is None:  # only deleting what was set aside may fail unseen: the new set stands
            assert faults.calls[number] == "unlink"
            assert is_new(folder)
        else:
            assert content(folder) == before, f"call {number}, {faults.calls}"
            assert "\n" not in str(error)
    assert error is None
    assert is_new(folder)
    assert {"write", "fsync", "replace", "open"} <= set(failed)
    assert failed.count("write") == len(NEW_SET) + 1


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_a_disk_that_stays_broken_never_leaves_a_mix_that_passes_for_a_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    """Not even undoing works here: the folder may hold no set, but no wrong one; the next run mends it."""
    faults = _Faults(monkeypatch, code=code, lasting=True)
    for number in range(1000):
        folder = tmp_path / f"{number}"
        write_heron(folder, OLD_SET)
        with faults.at(number):
            with contextlib.suppress(OutputError):
                write_heron(folder, NEW_SET)
            fired = faults.fired
        if not fired:
            break
        assert is_old(folder) or is_new(folder) or not read_set(folder).is_set
        write_heron(folder, NEW_SET)
        assert files_of(folder) == dict(sorted(NEW_SET.items())), number
        assert is_new(folder)
    assert number > 20


@pytest.mark.parametrize("number", range(14))
def test_a_first_run_that_fails_leaves_no_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    faults = _Faults(monkeypatch, code=errno.ENOSPC, lasting=False)
    with faults.at(number), pytest.raises(OutputError, match="no space left on device; free some space"):
        write_heron(tmp_path / "a" / "b", NEW_SET)
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_is_undone_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_heron(tmp_path, OLD_SET)
    before = content(tmp_path)
    real = os.replace
    calls = 0

    def interrupted(source: object, target: object) -> None:
        nonlocal calls
        calls += 1
        if calls == 4:
            raise KeyboardInterrupt
        real(source, target)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_heron(tmp_path, NEW_SET)
    assert content(tmp_path) == before


def test_a_file_in_place_of_the_folder_is_one_plain_line(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"")
    with pytest.raises(OutputError, match=r"out is a file; give a folder for the set") as caught:
        write_heron(tmp_path / "out", NEW_SET)
    assert "\n" not in str(caught.value)
    assert (tmp_path / "out").read_bytes() == b""


def test_a_folder_without_permission_is_one_plain_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The system's refusal is made up, because root is refused nothing."""
    faults = _Faults(monkeypatch, code=errno.EACCES, lasting=True)
    with faults.at(0), pytest.raises(OutputError, match="permission denied; check its permissions"):
        write_heron(tmp_path, NEW_SET)
    assert content(tmp_path) == {}


@pytest.mark.parametrize("name", ["", "..", "a/b", "a\\b", "c:d", "nul\0", f"{NEW}x"])
def test_names_that_lead_elsewhere_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError, match="cannot be the name of a file"):
        write_set(tmp_path, {name: b""}, REPORT, {})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("one", "other"), [("Kite.svg", "kite.svg"), ("\u00e9.svg", "e\u0301.svg")])
def test_names_that_some_systems_take_for_equal_are_refused(tmp_path: Path, one: str, other: str) -> None:
    with pytest.raises(OutputError, match="two files of the set"):
        write_set(tmp_path, {one: b"", other: b""}, REPORT, {})


class TestWriteFile:
    """One file, whole or not at all."""

    def test_an_older_file_stays_unless_it_may_go(self, tmp_path: Path) -> None:
        write_file(tmp_path / "areas.svg", b"old")
        write_file(tmp_path / "areas.svg", b"old")  # the same again is nobody's loss
        with pytest.raises(TakenError, match=r"areas\.svg is there already; choose another folder, or allow"):
            write_file(tmp_path / "areas.svg", b"new")
        assert content(tmp_path) == {"areas.svg": b"old"}
        write_file(tmp_path / "areas.svg", b"new", Claim(replace=True))
        assert content(tmp_path) == {"areas.svg": b"new"}

    @pytest.mark.parametrize("number", range(6))
    def test_a_fault_leaves_the_older_file(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
    ) -> None:
        write_file(tmp_path / "areas.svg", b"old")
        faults = _Faults(monkeypatch, code=errno.EIO, lasting=False)
        with faults.at(number), pytest.raises(OutputError):
            write_file(tmp_path / "areas.svg", b"new", Claim(replace=True))
        assert content(tmp_path) == {"areas.svg": b"old"}

    def test_a_leftover_of_a_killed_run_is_no_hindrance(self, tmp_path: Path) -> None:
        (tmp_path / f"{NEW}areas.svg").write_bytes(b"half")
        write_file(tmp_path / "areas.svg", b"new")
        assert content(tmp_path) == {"areas.svg": b"new"}

    def test_a_missing_folder_is_named(self, tmp_path: Path) -> None:
        with pytest.raises(OutputError, match="its folder does not exist"):
            write_file(tmp_path / "nowhere" / "areas.svg", b"")

    def test_a_folder_or_device_is_never_replaced(self, tmp_path: Path) -> None:
        (tmp_path / "areas.svg").mkdir()
        with pytest.raises(OutputError, match="is there and is no file"):
            write_file(tmp_path / "areas.svg", b"")
        assert [path.name for path in tmp_path.iterdir()] == ["areas.svg"]


def test_every_file_is_on_the_disk_before_its_name_is_and_the_report_comes_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the first file put in place to the last there is no report: a killed run leaves no wrong set."""
    write_heron(tmp_path, OLD_SET)
    synced: set[int] = set()
    put: list[str] = []
    sync, replace = os.fsync, os.replace

    def synced_first(handle: int) -> None:
        sync(handle)
        synced.add(os.fstat(handle).st_ino)

    def replaced(source: Path, target: Path) -> None:
        if Path(source).name.startswith(NEW):
            assert Path(source).stat().st_ino in synced
            assert not (tmp_path / REPORT).exists()
            put.append(Path(target).name)
        replace(source, target)

    monkeypatch.setattr(os, "fsync", synced_first)
    monkeypatch.setattr(os, "replace", replaced)
    write_heron(tmp_path, NEW_SET)
    assert put == [*NEW_SET, REPORT]
    assert tmp_path.stat().st_ino in synced


def test_a_new_file_that_cannot_be_taken_back_does_not_keep_the_others_from_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_heron(tmp_path, OLD_SET)
    replace, unlink = os.replace, os.unlink

    def replaced(source: Path, target: Path) -> None:
        if Path(source).name == f"{NEW}{REPORT}":
            raise OSError(errno.EIO, "Input/output error")
        replace(source, target)

    def unlinked(path: Path, **more: object) -> None:
        if Path(path).name == "heron-base.stl":
            raise OSError(errno.EIO, "Input/output error")
        unlink(path, **more)

    monkeypatch.setattr(os, "replace", replaced)
    monkeypatch.setattr(os, "unlink", unlinked)
    with pytest.raises(OutputError, match="input/output error"):
        write_heron(tmp_path, NEW_SET)
    assert {name: (tmp_path / name).read_bytes() for name in OLD_SET} == OLD_SET
