"""The errors that reliefsmith raises on purpose: one root, one child for each kind of caller's mistake.

Every message is one line that says what is wrong, where, and what to do.
"""

from __future__ import annotations

__all__ = ["ArtworkError", "ColorError", "GeometryError", "HeldError", "InputTakenError", "OutputError"]
__all__ += ["RecipeError", "ReliefsmithError", "StoreError", "TakenError", "error_line"]


_MOST_CHARS, _KEPT_HEAD, _KEPT_TAIL = 400, 280, 110  # longer than any message of ours; a file can be longer


class ReliefsmithError(Exception):
    r"""Root of all errors raised on purpose; `str()` is one plain line for the user.

    Messages quote what files and users say, so whatever is not printable, such as line ends and the escapes
    of a terminal, becomes "?", and the middle of a very long message is left out.

    Examples
    --------
    >>> str(ReliefsmithError("unknown setting base.\x1b[2J"))
    'unknown setting base.?[2J'
    """

    def __init__(self, message: str = "") -> None:
        super().__init__(_plain(message))


def _plain(message: str) -> str:
    line = "".join(char if char.isprintable() else "?" for char in message)
    return line if len(line) <= _MOST_CHARS else f"{line[:_KEPT_HEAD]} ... {line[-_KEPT_TAIL:]}"


class ArtworkError(ReliefsmithError, ValueError):
    """The picture cannot be read, is too small or too large, or holds nothing but background."""


class RecipeError(ReliefsmithError, ValueError):
    """A setting has an unknown key, a wrong type, or a value out of its bounds."""


class ColorError(RecipeError):
    """A color is given in a way that names none; which colors there are, only the picture can tell."""


class GeometryError(ReliefsmithError, ValueError):
    """A geometry step cannot give a valid result for this artwork and these settings."""


class OutputError(ReliefsmithError, OSError):
    """A file or folder cannot be written or read."""


class HeldError(OutputError):
    """Another run is writing into the folder."""


class TakenError(OutputError):
    """A file that a run may not replace is where it would write.

    The message has the way out of Python callers; `why` is the message without it, for faces with another.
    """

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(f"{why}; choose another folder, or allow it with replace=True")


class InputTakenError(TakenError):
    """The file in the way is one that the run reads, which nothing allows to replace."""

    def __init__(self, why: str) -> None:
        self.why = why
        OutputError.__init__(self, f"{why}; choose another folder")


class StoreError(ReliefsmithError, ValueError):
    """A stored stage value cannot be read back."""


def error_line(error: Exception) -> str:
    """Return the one line that a command tells an error by; a fault of our own is named as that."""
    if isinstance(error, InputTakenError):
        return f"{error.why}; choose another place with -o"
    if isinstance(error, TakenError):
        return f"{error.why}; choose another place with -o, or allow it with --replace"
    if isinstance(error, ReliefsmithError):
        return str(error)
    if isinstance(error, MemoryError):
        return "out of memory; use a smaller picture or a larger machine"
    kind = type(error).__name__
    return f"a fault in reliefsmith itself ({kind}: {error}); report it with what --verbose prints"
