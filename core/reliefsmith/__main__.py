"""The command `reliefsmith`, also as `python -m reliefsmith`."""

from __future__ import annotations

import sys

from . import __version__

__all__ = ["main"]


def main() -> None:
    """Run the command line; `--version` answers before anything heavy is imported."""
    if sys.argv[1:] == ["--version"]:
        sys.stdout.write(f"reliefsmith {__version__}\n")
        raise SystemExit(0)
    from .cli import run  # noqa: PLC0415 - see the docstring

    raise SystemExit(run())


if __name__ == "__main__":
    main()
