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
    try:
        from .cli import run  # noqa: PLC0415 - see the docstring

        raise SystemExit(run())
    except KeyboardInterrupt:  # while modules are imported, or while the status is told
        sys.stderr.write("interrupted\n")
        raise SystemExit(130) from None


if __name__ == "__main__":
    main()
