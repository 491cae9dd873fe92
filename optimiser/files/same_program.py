"""Processes that run the program of this one, whatever lies in the folder they are started in."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_one_at_a_time = threading.Lock()


def same_program() -> dict[str, str]:
    """Variables for a new process: it looks for modules where this one does, and not in its folder."""
    paths = os.pathsep.join(path or str(Path.cwd()) for path in sys.path)
    return {"PYTHONSAFEPATH": "1", "PYTHONPATH": paths}


@contextmanager
def started_alike() -> Iterator[None]:
    """What is started meanwhile has the variables of `same_program`."""
    wanted = same_program()
    with _one_at_a_time:
        before = {name: os.environ.get(name) for name in wanted}
        os.environ.update(wanted)
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value
