"""The built zip, installed into a throw-away user folder of this Blender; every test gets it fresh."""

from __future__ import annotations

import importlib
import importlib.util
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

SAMPLES = Path(__file__).parents[3] / "samples"
MODULE = "bl_ext.user_default.reliefsmith"

if importlib.util.find_spec("bpy") is None:
    collect_ignore_glob = ["test_*.py"]  # the tier `blender` runs inside Blender, by addon/check.py
else:
    # Before bpy is imported: preferences and extensions of these tests only.
    os.environ["BLENDER_USER_RESOURCES"] = tempfile.mkdtemp(prefix="reliefsmith-blender-")


@pytest.fixture(scope="session")
def installed() -> Iterator[str]:
    """Install and enable the zip; disabled at the end, because leftovers make the bpy module hang at exit."""
    import addon_utils
    import bpy

    zip_path = os.environ["RELIEFSMITH_ZIP"]
    done = bpy.ops.extensions.package_install_files(
        filepath=zip_path, repo="user_default", enable_on_install=True, overwrite=True
    )
    assert done == {"FINISHED"}
    assert addon_utils.check(MODULE) == (True, True)
    yield MODULE
    addon_utils.disable(MODULE, default_set=True)


@pytest.fixture
def scene(installed: str) -> Any:
    """An empty file with the add-on on."""
    import bpy

    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    return bpy.context.scene


@pytest.fixture
def recipe(installed: str) -> Any:
    """What the properties of the scene say now."""
    import bpy

    properties = importlib.import_module(installed + ".properties")
    return lambda: properties.to_recipe(bpy.context.scene.reliefsmith)


@pytest.fixture
def made(scene: Any, installed: str) -> Any:
    """The lantern, made; gives what finishes a live run."""
    import bpy

    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    return importlib.import_module(installed + ".run").pending.flush
