"""The command `optimiser` without its start: a process that has read the program forks for each call.

A page's session calls the command a dozen times, and each start would read the same modules again. The child
has the words, folder, environment, input and outputs of the call and ends as a process of its own would.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import select
import shlex
import socket
import subprocess
import sys
import traceback
from functools import cache
from typing import NoReturn

from tests.docs.pages import ROOT
from tests.once import FOLDER, folder_of_run

CALL = """\
import json, os, socket, sys
with socket.socket(socket.AF_UNIX) as line:
    line.connect(sys.argv[1])
    told = json.dumps([sys.argv[2:], os.getcwd(), dict(os.environ)]).encode()
    socket.send_fds(line, [len(told).to_bytes(8, "big")], [0, 1, 2])
    line.sendall(told)
    code = line.recv(1)
sys.exit(code[0] if code else 70)
"""
APART = ("optimiser.__main__", "optimiser.page")
BESIDE = ("highspy", "jinja2", "numpy", "openpyxl", "pint", "pulp", "rich.table", "scipy.optimize", "yaml")


@cache
def command() -> str:
    """The words that stand for `optimiser` in a shell; in a run of tests, starts the process behind them."""
    if FOLDER not in os.environ:
        return shlex.join([sys.executable, "-m", "optimiser"])
    place = folder_of_run() / f"warm-{os.getpid()}"
    place.mkdir()
    (place / "call.py").write_text(CALL, encoding="utf-8")
    known = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.docs.warm", str(place / "line")],
        cwd=ROOT,
        env={**known, "PYTHONIOENCODING": "utf-8"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert server.stdout is not None
    assert server.stdout.readline() == b"ready\n"
    _started.append(server)
    return shlex.join([sys.executable, "-I", "-S", str(place / "call.py"), str(place / "line")])


_started: list[subprocess.Popen[bytes]] = []
"""Each ends when its input does, at the latest with this process."""


def read_the_program() -> None:
    """Imports all that a command may import; nothing is solved here, so no thread stands in a fork's way."""
    package = importlib.import_module("optimiser")
    for module in pkgutil.walk_packages(package.__path__, "optimiser."):
        if not module.name.startswith(APART):
            importlib.import_module(module.name)
    for name in BESIDE:
        importlib.import_module(name)


def serve(place: str) -> None:
    """Answers calls until its input ends."""
    read_the_program()
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(place)
        listening.listen()
        sys.stdout.write("ready\n")
        sys.stdout.flush()
        while True:
            heard, _, _ = select.select([listening, sys.stdin], [], [], 0.2)
            while _reaped():
                pass
            if sys.stdin in heard:
                return
            if listening in heard:
                line, _ = listening.accept()
                if os.fork() == 0:
                    listening.close()
                    _do(line)
                line.close()


def _reaped() -> bool:
    try:
        return os.waitpid(-1, os.WNOHANG)[0] != 0
    except ChildProcessError:
        return False


def _do(line: socket.socket) -> NoReturn:
    """One call, in a process of its own: sends its exit code and leaves with it."""
    from optimiser.__main__ import main

    size, fds, _, _ = socket.recv_fds(line, 8, 3)
    told = b""
    while len(told) < int.from_bytes(size, "big"):
        told += line.recv(1 << 20)
    words, folder, environment = json.loads(told)
    for stream, fd in enumerate(fds):
        os.dup2(fd, stream)
        os.close(fd)
    sys.stdin = os.fdopen(0, encoding="utf-8")
    sys.stdout = os.fdopen(1, "w", encoding="utf-8")
    sys.stderr = os.fdopen(2, "w", 1, encoding="utf-8", errors="backslashreplace")
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    sys.argv = ["optimiser", *words]
    code: object = 0
    try:
        main()
    except SystemExit as left:
        code = left.code or 0
    except BaseException:
        traceback.print_exc()
        code = 1
    sys.stdout.flush()
    sys.stderr.flush()
    assert isinstance(code, int)
    line.sendall(bytes([code]))
    line.close()
    sys.exit(code)


if __name__ == "__main__":
    serve(sys.argv[1])
