"""A Dask cluster of this machine, as a process of its own: `python daskcluster.py PORT WORKERS`.

It prints the scheduler's address when it is there, and ends when its input does.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["cluster"]


@contextmanager
def cluster(port: int = 0, workers: int = 2, **env: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Give the address of a cluster, and the process of its scheduler, while it is up."""
    process = subprocess.Popen(
        [sys.executable, __file__, str(port), str(workers)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "DASK_DISTRIBUTED__WORKER__PROFILE__ENABLED": "False", **env},
    )
    try:
        yield process.stdout.readline().strip(), process
    finally:
        process.communicate()


def main(port: int, workers: int) -> None:
    import distributed

    with distributed.LocalCluster(
        n_workers=workers,
        threads_per_worker=1,
        host="127.0.0.1",
        scheduler_port=port,
        dashboard_address=None,
    ) as here:
        print(here.scheduler_address, flush=True)
        sys.stdin.read()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
