# SPDX-License-Identifier: GPL-3.0-or-later
"""The picture of a piece: its file, and the copy that the .blend holds, so that a moved one still works."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import bpy

from reliefsmith.errors import ArtworkError

INSIDE, BESIDE = "inside", "beside"
_DIGEST, _NAME = "reliefsmith_digest", "reliefsmith_picture"


def keep(state: Any) -> None:
    """Take the picture's file into the .blend, or only its thumbnail, as the state says."""
    file = Path(bpy.path.abspath(state.picture))
    if not state.picture or not file.is_file():
        return
    data = file.read_bytes()
    state.digest = hashlib.blake2b(data, digest_size=16).hexdigest()
    state.image = _image(file, data, state.digest, packed=state.picture_place == INSIDE)


def path(state: Any) -> Path:
    """Return the picture's file; where it is gone, that of the copy in the .blend.

    Raises
    ------
    ArtworkError
        If no picture is named, or it is gone and there is no copy.
    """
    if not state.picture.strip():
        raise ArtworkError("no picture is loaded; load one first")
    file = Path(bpy.path.abspath(state.picture))
    if file.is_file():
        return file
    if not has_copy(state):
        raise ArtworkError(f"there is no picture at {file}; check the name")
    copy = Path(bpy.app.tempdir, "reliefsmith", state.digest, file.name)
    copy.parent.mkdir(parents=True, exist_ok=True)
    copy.write_bytes(state.image.packed_file.data)
    return copy


def is_gone(state: Any) -> bool:
    """Return whether the copy is used, since the file is not where it was."""
    return has_copy(state) and not Path(bpy.path.abspath(state.picture)).is_file()


def has_copy(state: Any) -> bool:
    """Return whether the .blend holds a copy of the picture that is named."""
    image = state.image
    is_it = image is not None and image.get(_NAME) == Path(bpy.path.abspath(state.picture)).name
    return is_it and image.packed_file is not None


def make_relative(state: Any, blend: str) -> None:
    """Write a path that is kept beside the .blend as one from there; across drives it stays whole."""
    if state.picture_place == BESIDE and state.picture and blend:
        try:
            state.picture = bpy.path.relpath(bpy.path.abspath(state.picture), start=str(Path(blend).parent))
        except ValueError:
            return


def _image(file: Path, data: bytes, digest: str, *, packed: bool) -> bpy.types.Image | None:
    """Return a picture as an image with a thumbnail, or its bytes alone for a kind Blender does not read."""
    for known in bpy.data.images:
        same = known.get(_DIGEST) == digest and known.get(_NAME) == file.name
        if same and (known.packed_file is not None) == packed and known.library is None:
            return known
    found = _read(file)
    if found is None and not packed:
        return None
    if found is None:
        found = bpy.data.images.new(file.name, 1, 1)
    else:
        found.preview_ensure()
    if packed:
        found.pack(data=data, data_len=len(data))
    found[_DIGEST], found[_NAME] = digest, file.name
    return found


def _read(file: Path) -> bpy.types.Image | None:
    try:
        found = bpy.data.images.load(str(file))
    except RuntimeError:
        return None
    if found.size[0]:
        return found
    bpy.data.images.remove(found)
    return None
