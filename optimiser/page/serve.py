"""Starts the page on a port of its own and stops it cleanly."""

from __future__ import annotations

import gc
import socket
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from optimiser.errors import OptimiserError, UsageError
from optimiser.page.guard import Guard, Keys
from optimiser.page.waste import settle

if TYPE_CHECKING:
    from optimiser.page.first import First

LOOPBACK = "127.0.0.1"
LEAST_PASSWORD = 10
AT_ONCE_S = 0.2
NOBODY_CAME_S = 2.0
EXPOSES = (
    "Whoever reaches {address} and knows the password can read this folder's formulas, prices and trials "
    "and write proposals and trials into it. What is sent is not encrypted."
)


def serve(
    folder: Path,
    *,
    listen: str = "",
    password: str = "",
    open_browser: bool = False,
    say: Callable[[str], None],
) -> None:
    """Until it is interrupted. Raises UsageError where `listen` comes without a password.

    The address is told as soon as the port is taken: whoever opens it then waits for the first page alone.
    The folder is read, and the other screens and the processes that solve are made ready, behind it.
    """
    if not folder.is_dir():
        from optimiser.loading.folder import meant

        raise UsageError(f"{folder} is no folder", meant(folder))
    gc.disable()  # what is read until the first page is out stays: looking through it frees nothing
    host, port = _address(listen, password)
    bound = bind(host, port)
    port = bound.getsockname()[1]
    keys = Keys(_names(host, port), password)
    url = f"http://{host}:{port}/" + ("" if password else f"?key={keys.key}")
    say(url)
    if password:
        say(EXPOSES.format(address=f"{host}:{port}"))
    if open_browser:
        import webbrowser

        webbrowser.open(url)
    try:
        _answer(folder.resolve(), keys, bound)
    except KeyboardInterrupt:
        pass
    finally:
        bound.close()


def _answer(folder: Path, keys: Keys, bound: socket.socket) -> None:
    import uvicorn

    from optimiser.page.first import First

    first = First(folder, keys)
    app = Guard(first, keys)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        lifespan="off",
        timeout_graceful_shutdown=1,
    )
    threading.Thread(target=_make_ready, args=(app, first), daemon=True).start()
    try:
        uvicorn.Server(config).run(sockets=[bound])
    finally:
        first.close()


def _make_ready(app: Guard, first: First) -> None:
    """The folder is read after the first page, or before it where nobody comes at once; the rest then."""
    app.answered.wait(AT_ONCE_S)
    try:
        first.read()
        first.given.wait(NOBODY_CAME_S)
    finally:
        settle()
    first.make_ready()


def _address(listen: str, password: str) -> tuple[str, int]:
    if not listen:
        return LOOPBACK, 0
    host, colon, port = listen.rpartition(":")
    host, number = (host, port) if colon else (listen, "0")
    if not number.isdigit() or int(number) > 65535 or host in ("", "0.0.0.0", "[::]", "::"):  # noqa: S104
        raise UsageError(
            f'"{listen}" is no address to share on', "give one address, such as 192.168.1.20:8000"
        )
    if len(password) < LEAST_PASSWORD:
        hint = f"put at least {LEAST_PASSWORD} characters into a file and name it with --password-file"
        raise UsageError(f"sharing on {host} takes a password. {EXPOSES.format(address=host)}", hint)
    return host, int(number)


def bind(host: str, port: int) -> socket.socket:
    """A socket that listens there; port 0 takes one that is free. Raises OptimiserError where it cannot."""
    # TCP by name: only then are its connections told not to hold back the end of an answer for some 40 ms
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        made.bind((host, port))
        made.listen(128)
    except OSError as fault:
        made.close()
        raise OptimiserError(f"{host}:{port} cannot be used: {fault.strerror}", "give another") from fault
    return made


def _names(host: str, port: int) -> frozenset[str]:
    names = {f"{host}:{port}"}
    return frozenset(names | ({f"localhost:{port}"} if host == LOOPBACK else set()))
