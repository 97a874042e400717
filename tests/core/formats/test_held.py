"""A folder while it is written into: what is made goes again, one run holds it, errors are one line."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from reliefsmith.errors import HeldError, OutputError
from reliefsmith.formats.held import locked, made, plain_errors, sync_folder


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "no space left on device; free some space or"),
        (OSError(errno.EACCES, "Permission denied"), "permission denied; check its permissions or"),
        (ValueError("embedded null byte"), "the name is not usable; check its permissions or"),
    ],
    ids=["full", "refused", "no name"],
)
def test_what_the_system_says_is_one_line_with_a_way_out(error: Exception, told: str) -> None:
    with pytest.raises(OutputError) as caught, plain_errors(Path("a\nb")):
        raise error
    assert str(caught.value) == f"cannot write a?b: {told} choose another folder"
    assert caught.value.__cause__ is error


@pytest.mark.parametrize("error", [HeldError("held"), KeyError("a"), KeyboardInterrupt()])
def test_what_is_told_already_or_is_no_matter_of_the_place_goes_on_as_it_is(error: BaseException) -> None:
    with pytest.raises(type(error)) as caught, plain_errors(Path("a")):
        raise error
    assert caught.value is error


def _fail_in(folder: Path, error: BaseException, left: str = "") -> None:
    """Fail in a folder that is there, after a file was left in it."""
    assert folder.is_dir()
    if left:
        (folder / left).write_bytes(b"")
    raise error


@pytest.mark.parametrize("error", [OutputError("no"), KeyboardInterrupt()])
def test_only_folders_that_were_made_go_again(tmp_path: Path, error: BaseException) -> None:
    (tmp_path / "a").mkdir()
    with pytest.raises(type(error)), made(tmp_path / "a" / "b" / "c"):
        _fail_in(tmp_path / "a" / "b" / "c", error)
    assert list(tmp_path.rglob("*")) == [tmp_path / "a"]


def test_a_made_folder_stays_when_all_went_well_or_something_else_lies_in_it(tmp_path: Path) -> None:
    with made(tmp_path / "a" / "b"):
        pass
    assert (tmp_path / "a" / "b").is_dir()
    with pytest.raises(OutputError), made(tmp_path / "a" / "c" / "d"):
        _fail_in(tmp_path / "a" / "c", OutputError("no"), "others.txt")
    assert [path.name for path in (tmp_path / "a" / "c").iterdir()] == ["others.txt"]


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such lock")
def test_a_folder_is_held_by_one_run_until_it_ends(tmp_path: Path) -> None:
    """A second descriptor of the same folder stands for another process: `flock` locks descriptors."""
    with locked(tmp_path):
        with pytest.raises(HeldError, match=r"another run is writing into .*; wait for it"), locked(tmp_path):
            pytest.fail("held twice")
        with locked(tmp_path.parent):
            pass
    with pytest.raises(KeyError), locked(tmp_path):
        raise KeyError
    with locked(tmp_path):
        pass


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such lock")
def test_a_file_system_without_locks_is_no_hindrance(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import fcntl

    def refuse(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refuse)
    with locked(tmp_path):
        (tmp_path / "a").write_bytes(b"")


@pytest.mark.skipif(os.name != "posix", reason="counts descriptors by their folder")
def test_no_descriptor_is_left_open(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced = []
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: synced.append(os.fstat(handle).st_ino) or real(handle))
    before = os.open(tmp_path, os.O_RDONLY)
    os.close(before)
    with locked(tmp_path):
        sync_folder(tmp_path)
    assert synced == [tmp_path.stat().st_ino]
    after = os.open(tmp_path, os.O_RDONLY)
    os.close(after)
    assert after == before  # the lowest free one is given
