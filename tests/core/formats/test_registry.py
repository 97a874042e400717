"""Which suffix is read how, and every file that cannot be read told in one line."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

import pieces
from reliefsmith.errors import OutputError
from reliefsmith.formats import (
    AREA_WRITERS,
    CURVE_WRITERS,
    READERS,
    WITHOUT_UNIT,
    read_parts,
    read_pieces,
    registry,
    stl_bytes,
    threemf_bytes,
)


class TestBadFiles:
    """One line each: what, where, what to do."""

    def _told(self, path: Path | str) -> str:
        with pytest.raises(OutputError) as caught:
            read_parts(path)
        message = str(caught.value)
        assert len(message.splitlines()) == 1
        return message

    def test_missing(self, tmp_path: Path) -> None:
        told = self._told(tmp_path / "no.3mf")
        assert (
            told
            == f"cannot read {tmp_path}/no.3mf: no such file or directory; check the name and the permissions"
        )

    def test_a_folder(self, tmp_path: Path) -> None:
        (tmp_path / "a.stl").mkdir()
        assert "it is not a file" in self._told(tmp_path / "a.stl")

    def test_another_suffix(self) -> None:
        assert "must end in .3mf or .stl" in self._told("heron.png")

    @pytest.mark.parametrize("suffix", READERS)
    def test_empty(self, tmp_path: Path, suffix: str) -> None:
        (tmp_path / f"a{suffix}").write_bytes(b"")
        assert "it is empty" in self._told(tmp_path / f"a{suffix}")

    @pytest.mark.parametrize("name", ["a\0.stl", "x" * 300 + ".stl", "line\nbreak.stl", "line\nbreak.png"])
    def test_names_that_are_none(self, name: str) -> None:
        assert self._told(name).startswith("cannot read ")

    def test_a_pipe_does_not_hang(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "a.stl")
        assert "it is not a file" in self._told(tmp_path / "a.stl")

    def test_a_file_that_may_not_be_opened(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """The system's refusal is made up, because root is refused nothing."""
        (tmp_path / "a.stl").write_bytes(b"x")

        def refuse(*_: object) -> object:
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr(Path, "open", refuse)
        assert self._told(tmp_path / "a.stl").endswith(
            "permission denied; check the name and the permissions"
        )

    def test_a_file_of_just_the_greatest_size(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        data = stl_bytes(pieces.parts()[1])
        (tmp_path / "a.stl").write_bytes(data)
        monkeypatch.setattr(registry, "MAX_FILE_BYTES", len(data))
        assert read_parts(tmp_path / "a.stl")
        monkeypatch.setattr(registry, "MAX_FILE_BYTES", len(data) - 1)
        assert "it is larger than 0 MiB" in self._told(tmp_path / "a.stl")


def test_every_area_writer_is_entered_with_its_suffix() -> None:
    for suffix, write in AREA_WRITERS.items():
        assert suffix.startswith(".")
        assert write(pieces.areas(), ["red", "teal"]) == write(pieces.areas())


def test_a_suffix_counts_in_any_case(tmp_path: Path) -> None:
    (tmp_path / "Kite.STL").write_bytes(stl_bytes(pieces.parts()[1]))
    assert [part.name for part in read_parts(str(tmp_path / "Kite.STL"))] == ["Kite"]


def test_formats_are_entered_once_and_those_without_a_unit_are_read() -> None:
    """3MF says its unit and glTF is in metres; STL, OBJ, PLY and OFF hold bare numbers."""
    assert set(READERS) == {".3mf", ".glb", *WITHOUT_UNIT}
    assert set(WITHOUT_UNIT) == {".stl", ".obj", ".ply", ".off"}
    assert set(CURVE_WRITERS) <= set(AREA_WRITERS)


def test_what_is_no_bed_has_no_pieces_and_what_is_broken_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.stl").write_bytes(stl_bytes(pieces.parts()[1]))
    (tmp_path / "a.3mf").write_bytes(threemf_bytes(pieces.parts(), title="heron"))
    (tmp_path / "b.3mf").write_bytes(b"no package")
    assert read_pieces(tmp_path / "a.stl") == read_pieces(tmp_path / "a.3mf") == ()
    with pytest.raises(OutputError, match=r"cannot read .*b\.3mf: the package is damaged or cut off"):
        read_pieces(str(tmp_path / "b.3mf"))
