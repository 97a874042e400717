"""What a customer approves, by one digest, and the code that stands for it on paper."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Approval"]


@dataclass(frozen=True, slots=True)
class Approval:
    """Of which files a proof is.

    Parameters
    ----------
    digest : str
        SHA-256, in hexadecimal, of the geometry files, the recipe and the text as it is read.
    code : str
        Short for it, to be read out or typed in.
    """

    digest: str
    code: str
