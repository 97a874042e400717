"""The standard error stream, led away while a TIFF is decoded, and there again afterwards."""

from __future__ import annotations

import os

import pytest

from reliefsmith.formats.silence import silent


def say(text: str) -> None:
    """Write as a C library does, past Python's own streams."""
    os.write(2, text.encode())


@pytest.mark.parametrize(("kind", "heard"), [("TIFF", ""), ("PNG", "inside"), (None, "inside")])
def test_only_what_is_printed_while_a_tiff_is_decoded_is_lost(
    kind: str | None, heard: str, capfd: pytest.CaptureFixture[str]
) -> None:
    say("before ")
    with silent(kind):
        say(heard or "inside")
    say(" after")
    assert capfd.readouterr().err == f"before {heard} after"


def test_the_stream_is_there_again_after_an_error_and_errors_go_on(
    capfd: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(ZeroDivisionError), silent("TIFF"):
        say(f"inside {1 // 0}")
    say("after")
    assert capfd.readouterr().err == "after"


def test_no_descriptor_is_left_open() -> None:
    def free() -> list[int]:
        """Return the lowest numbers that are free."""
        found = [os.dup(2) for _ in range(4)]
        for handle in found:
            os.close(handle)
        return found

    before = free()
    with silent("TIFF"):
        pass
    assert free() == before


def test_a_program_without_the_stream_decodes_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_handle: int) -> int:
        raise OSError(9, "Bad file descriptor")

    monkeypatch.setattr(os, "dup", refuse)
    ran = False
    with silent("TIFF"):
        ran = True
    assert ran
