"""Stage values to bytes and back without pickle, and the stores that keep them: memory, folder.

A value is a tree of frozen dataclasses, tuples, scalars, numpy arrays and shapely geometries. Arrays keep
dtype and shape, geometries travel as WKB, everything else as JSON; all of it in one npz file. Only classes
of the model can come back, so a stored file cannot make anything else happen.
"""

from __future__ import annotations

import io
import json
import os
import tokenize
import zipfile
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from .. import findings, model
from ..errors import StoreError
from .declared import unfit_field

__all__ = ["FolderStore", "MemoryStore", "Store", "decode", "encode"]

_CLASSES: dict[str, type[Any]] = {
    **{name: getattr(model, name) for name in model.__all__},
    "Finding": findings.Finding,
    "Note": findings.Note,
}
_FORMAT = 1
# What the readers of ZIP, arrays, JSON and WKB raise on broken data; they have no common root.
_BROKEN = (
    OSError,
    ArithmeticError,
    AttributeError,
    EOFError,
    LookupError,
    NotImplementedError,
    RecursionError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    MemoryError,
    tokenize.TokenError,
    shapely.GEOSException,
    zipfile.BadZipFile,
)


def encode(value: Any) -> bytes:
    """Return a stage value as the bytes of an npz archive, the same bytes for the same value.

    Raises
    ------
    StoreError
        If the value holds something that is no part of the model.

    Examples
    --------
    >>> encode((4.0, "red")) == encode((4.0, "red"))
    True
    """
    arrays: list[np.ndarray[Any, Any]] = []
    tree = {"format": _FORMAT, "value": _flat(value, arrays)}
    text = np.frombuffer(json.dumps(tree, sort_keys=True).encode(), np.uint8)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, array in [("tree", text), *((f"a{i}", item) for i, item in enumerate(arrays))]:
            member = io.BytesIO()
            np.lib.format.write_array(member, np.ascontiguousarray(array), allow_pickle=False)
            archive.writestr(zipfile.ZipInfo(f"{name}.npy", (1980, 1, 1, 0, 0, 0)), member.getvalue())
    return out.getvalue()


def decode(data: bytes) -> Any:
    """Return the stage value that `encode` wrote.

    Raises
    ------
    StoreError
        If the bytes are cut off or were written by something else, or a field holds another kind of value.

    Examples
    --------
    >>> decode(encode((4.0, "red", None)))
    (4.0, 'red', None)
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            tree = json.loads(_array(archive, "tree").tobytes())
            if tree["format"] != _FORMAT:
                raise StoreError(f"stored value has format {tree['format']!r}, this version reads {_FORMAT}")
            return _grown(tree["value"], lambda i: _array(archive, f"a{i}"))
    except StoreError:
        raise
    except _BROKEN as error:
        kind = type(error).__name__
        raise StoreError(f"stored value cannot be read: {kind}: {error}") from error


def _array(archive: zipfile.ZipFile, name: str) -> np.ndarray[Any, Any]:
    """Read one array as `encode` wrote it: not packed, so it is never larger than the file."""
    info = archive.getinfo(f"{name}.npy")
    if info.compress_type != zipfile.ZIP_STORED:
        raise StoreError("stored value is packed, which this version never does; delete the file")
    member = io.BytesIO(archive.read(info))
    if np.lib.format.read_magic(member) != (1, 0):
        raise StoreError("stored value has arrays of another version; delete the file")
    shape, column_major, dtype = np.lib.format.read_array_header_1_0(member)
    if dtype.hasobject or dtype.itemsize == 0:
        raise StoreError("stored value holds arrays of objects; delete the file")
    flat = np.frombuffer(member.read(), dtype)
    return flat.reshape(shape, order="F" if column_major else "C").copy()


def _flat(value: Any, arrays: list[np.ndarray[Any, Any]]) -> Any:
    """Return the JSON tree of a value and append the arrays that it refers to."""
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    if isinstance(value, np.ndarray):
        arrays.append(value)
        return {"array": len(arrays) - 1}
    if isinstance(value, BaseGeometry):
        arrays.append(np.frombuffer(shapely.to_wkb(value, byte_order=1), np.uint8))
        return {"wkb": len(arrays) - 1}
    return _flat_group(value, arrays)


def _flat_group(value: Any, arrays: list[np.ndarray[Any, Any]]) -> Any:
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, (tuple, list)):
        return {"tuple": [_flat(item, arrays) for item in value]}
    if isinstance(value, dict):
        return {"dict": [[str(key), _flat(item, arrays)] for key, item in value.items()]}
    name = type(value).__name__
    if is_dataclass(value) and _CLASSES.get(name) is type(value):
        return {
            "class": name,
            "fields": {f.name: _flat(getattr(value, f.name), arrays) for f in fields(value)},
        }
    raise StoreError(f"a {name} cannot be stored; stage values hold model classes, arrays and geometries")


def _grown(tree: Any, array: Callable[[int], np.ndarray[Any, Any]]) -> Any:
    if not isinstance(tree, dict):
        return tree
    if "array" in tree:
        return array(tree["array"])
    if "wkb" in tree:
        with np.errstate(invalid="ignore"):  # coordinates that are no numbers
            return shapely.from_wkb(array(tree["wkb"]).tobytes(), on_invalid="raise")
    if "tuple" in tree:
        return tuple(_grown(item, array) for item in tree["tuple"])
    if "dict" in tree:
        return {key: _grown(item, array) for key, item in tree["dict"]}
    values = {name: _grown(item, array) for name, item in tree["fields"].items()}
    if tree["class"] == "Finding":
        values["severity"] = findings.Severity(values["severity"])
    value = _CLASSES[tree["class"]](**values)
    if field := unfit_field(value):
        raise StoreError(f"stored {tree['class']} has no usable {field}; delete the file")
    return value


_ZIP_HEADER = 30
"""Bytes of a local file header before its name (PKWARE's APPNOTE, 4.3.7)."""


def _was_written_here(path: Path) -> bool:
    """Return whether a file begins as `encode` begins it, however damaged the rest may be."""
    head = encode(None)[: _ZIP_HEADER + len("tree.npy")]
    fixed = slice(0, 10)  # signature, version, flags, no packing; sums and sizes follow
    with path.open("rb") as file:
        found = file.read(len(head))
    return found[fixed] == head[fixed] and found.endswith(b"tree.npy")


class Store(Protocol):
    """Where stage values are kept between runs, by key."""

    def get(self, stage: str, key: str) -> Any | None:
        """Return the value of a stage, or None if it is not kept."""

    def put(self, stage: str, key: str, value: Any) -> None:
        """Keep the value of a stage."""


class MemoryStore:
    """Keeps the newest values of each stage in memory.

    Parameters
    ----------
    keep : int
        Values kept for each stage; going back and forth between that many settings recomputes nothing.

    Examples
    --------
    >>> store = MemoryStore(keep=1)
    >>> store.put("plan", "first", 1)
    >>> store.put("plan", "second", 2)
    >>> store.get("plan", "first"), store.get("plan", "second")
    (None, 2)
    """

    def __init__(self, keep: int = 4) -> None:
        self._keep = keep
        self._values: dict[str, dict[str, Any]] = {}

    def get(self, stage: str, key: str) -> Any | None:
        """Return the value of a stage, or None if it is not kept."""
        values = self._values.get(stage, {})
        if key in values:
            values[key] = values.pop(key)  # now the newest
        return values.get(key)

    def put(self, stage: str, key: str, value: Any) -> None:
        """Keep the value of a stage and forget the oldest one over the limit."""
        values = self._values.setdefault(stage, {})
        values.pop(key, None)
        values[key] = value
        while len(values) > self._keep:
            del values[next(iter(values))]


class FolderStore:
    """Keeps stage values as files `<stage>-<key>.npz` in a folder that several processes may share.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     FolderStore(folder).put("size", "key", (4.0, 2.0))
    ...     found = FolderStore(folder).get("size", "key")
    >>> found
    (4.0, 2.0)
    """

    def __init__(self, folder: str | Path) -> None:
        self._folder = Path(folder)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            reason = (error.strerror or "no such name").lower()
            raise StoreError(
                f"cannot make the folder {folder} for stage values: {reason}; choose another folder"
            ) from error

    def get(self, stage: str, key: str) -> Any | None:
        """Return the value of a stage; a file that cannot be read counts as not kept."""
        try:
            path = self._path(stage, key)
            return decode(path.read_bytes()) if path.is_file() else None
        except (OSError, StoreError):
            return None

    def put(self, stage: str, key: str, value: Any) -> None:
        """Write the value under a temporary name and rename it, so that no reader sees half a file.

        Raises
        ------
        StoreError
            If it cannot be written, or another file than a stage value has its name.
        """
        import tempfile  # noqa: PLC0415 - most runs keep nothing

        place = self._path(stage, key)
        try:
            if place.is_symlink() or (place.exists() and not _was_written_here(place)):
                raise StoreError(f"{place} is no stage value and would be replaced; keep stages elsewhere")
            handle, name = tempfile.mkstemp(dir=self._folder, prefix=f".{stage}-")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(encode(value))
                Path(name).replace(place)
            except BaseException:
                Path(name).unlink(missing_ok=True)
                raise
        except OSError as error:
            raise StoreError(f"cannot keep stage values in {self._folder}: {error.strerror}") from error

    def _path(self, stage: str, key: str) -> Path:
        return self._folder / f"{stage}-{key}.npz"
