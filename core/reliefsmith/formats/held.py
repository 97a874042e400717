"""A folder while it is written into: made where it is missing, held by one run, its errors in one line."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator
from pathlib import Path

from ..errors import HeldError, OutputError
from .stems import printable

try:
    import fcntl
except ImportError:  # Windows has no such lock; the exclusive temporary names still keep two runs apart
    fcntl = None  # type: ignore[assignment]

__all__ = ["locked", "made", "plain_errors", "sync_folder"]


@contextlib.contextmanager
def plain_errors(place: Path) -> Iterator[None]:
    """Turn what the system says of a place into one `OutputError`."""
    try:
        yield
    except OutputError:
        raise
    except (OSError, ValueError) as error:
        reason = str(getattr(error, "strerror", None) or "the name is not usable").lower()
        advice = (
            "free some space" if getattr(error, "errno", None) == errno.ENOSPC else "check its permissions"
        )
        raise OutputError(
            f"cannot write {printable(place)}: {reason}; {advice} or choose another folder"
        ) from error


@contextlib.contextmanager
def made(folder: Path) -> Iterator[None]:
    """Make a folder and its parents; take away again what was made if the rest fails."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    done: list[Path] = []
    try:
        for path in reversed(missing):
            with contextlib.suppress(FileExistsError):  # another run was quicker
                path.mkdir()
                done.append(path)
        yield
    except BaseException:
        for path in reversed(done):
            with contextlib.suppress(OSError):
                path.rmdir()
        raise


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder for this run; the lock goes with the process, so a killed run leaves none."""
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise HeldError(
                f"another run is writing into {printable(folder)}; wait for it or choose another folder"
            ) from error
        except OSError:
            pass  # some network file systems have no locks; the exclusive temporary names still hold
        yield
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Make renames last; only POSIX systems let a folder be synced."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
