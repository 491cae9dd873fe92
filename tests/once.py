"""What several tests of one run need and is slow to find is found once, whichever process asks first.

A run is one call of pytest with all the processes it starts. What they found lies in a folder of the run's
own, made anew each time and removed at its end, so nothing found by other code is ever taken.
"""

from __future__ import annotations

import copyreg
import hashlib
import os
import pickle
import shutil
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from filelock import FileLock

FOLDER = "TESTS_OF_ONE_RUN"
"""The variable that tells a run's processes where its folder is."""

T = TypeVar("T")
_here: dict[str, Any] = {}


def _proxy(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)


class _Packer(pickle.Pickler):
    dispatch_table = copyreg.dispatch_table | {MappingProxyType: lambda one: (_proxy, (dict(one),))}


def begin() -> Path:
    """Makes the folder of this run."""
    folder = Path(tempfile.mkdtemp(prefix="run-of-tests-"))
    os.environ[FOLDER] = str(folder)
    return folder


def folder_of_run() -> Path:
    return Path(os.environ[FOLDER])


def end(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)


def compiled_once() -> None:
    """Python processes that tests start compile each module once a run, and nothing beside the sources."""
    os.environ["PYTHONPYCACHEPREFIX"] = str(folder_of_run() / "compiled")
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def not_compiled_once() -> dict[str, str]:
    """The environment for a process that reads more of other libraries, compiled already, than of ours."""
    known = {name: value for name, value in os.environ.items() if name != "PYTHONPYCACHEPREFIX"}
    return {**known, "PYTHONDONTWRITEBYTECODE": "1"}


def once(key: str, make: Callable[[], T]) -> T:
    """What `make` returns, made by the first process of the run that asks; `key` says all that it hangs on.

    An exception is not kept: each that asks makes it anew. Outside a run of pytest each process is its own.
    """
    if key not in _here and FOLDER not in os.environ:
        _here[key] = make()
    if key not in _here:
        name = hashlib.sha256(key.encode()).hexdigest()[:24]
        path = folder_of_run() / f"{name}.pickle"
        with FileLock(path.with_suffix(".lock")):
            if path.exists():
                _here[key] = pickle.loads(path.read_bytes())  # noqa: S301
            else:
                _here[key] = make()
                path.write_bytes(_packed(_here[key]))
    found: T = _here[key]
    return found


def _packed(value: object) -> bytes:
    out = BytesIO()
    _Packer(out).dump(value)
    return out.getvalue()


def state_of(folder: Path, but: tuple[str, ...] = ()) -> str:
    """A digest of every file below the folder, its name and its bytes, but of those that end so."""
    told = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.suffix not in but:
            data = path.read_bytes()
            told.update(f"{path.relative_to(folder).as_posix()}\0{len(data)}\0".encode())
            told.update(data)
    return told.hexdigest()
