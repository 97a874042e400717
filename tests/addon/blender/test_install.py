"""The zip brings everything it needs, and goes without a trace."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender


def test_what_is_imported_is_what_was_bundled(installed: str) -> None:
    user = bpy.utils.resource_path("USER")
    for name in ("reliefsmith", "reliefsmith_data", "shapely", "PIL"):
        where = importlib.import_module(name).__file__
        assert where is not None
        assert Path(where).resolve().is_relative_to(Path(user).resolve()), name
    numpy = importlib.import_module("numpy").__file__
    assert numpy is not None
    assert not Path(numpy).resolve().is_relative_to(Path(user).resolve())


def test_health_finds_no_trouble(installed: str) -> None:
    assert importlib.import_module(installed + ".health").trouble() is None


def test_a_wrong_library_is_named_in_a_plain_sentence(
    installed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    import shapely

    monkeypatch.setattr(shapely, "box", lambda *_: shapely.Point(0, 0).buffer(1))
    said = importlib.import_module(installed + ".health").trouble()
    assert said is not None
    assert "shapely" in said
    assert "\n" not in said


def test_in_trouble_only_a_panel_with_the_reason_is_there(
    installed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    extension = importlib.import_module(installed)
    extension.unregister()
    try:
        with monkeypatch.context() as patch:
            patch.setattr(extension.health, "trouble", lambda: "A library is missing; install the zip again")
            extension.register()
            assert hasattr(bpy.types, "RELIEFSMITH_PT_trouble")
            assert not hasattr(bpy.types.Scene, "reliefsmith")
            extension.unregister()
            assert not hasattr(bpy.types, "RELIEFSMITH_PT_trouble")
    finally:
        extension.register()


def traces() -> set[str]:
    """Everything of the add-on that Blender knows of."""
    known = {name for name in dir(bpy.types) if "RELIEFSMITH" in name}
    return (
        known
        | {name for name in dir(bpy.types.Scene) if "reliefsmith" in name}
        | set(dir(bpy.ops.reliefsmith))
    )


def test_unregister_leaves_no_trace_and_register_works_again(scene: Any, installed: str) -> None:
    extension = importlib.import_module(installed)
    before = traces()
    assert len(before) > 20
    for _ in range(2):
        extension.unregister()
        assert traces() == set()
        extension.register()
        assert traces() == before


def test_no_module_of_the_network_is_used(
    installed: str, monkeypatch: pytest.MonkeyPatch, scene: Any
) -> None:
    import socket

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("the network was touched")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    extension = importlib.import_module(installed)
    extension.unregister()
    extension.register()
