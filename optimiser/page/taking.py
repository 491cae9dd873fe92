"""A table of readings taken in: shown with its faults first, kept with one press more."""

from __future__ import annotations

import re
import secrets
import tempfile
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.errors import UsageError
from optimiser.page.show import Page, to
from optimiser.page.views.trial import import_of
from optimiser.workflows.trials import Preview, import_readings

MOST_BYTES = 2_000_000
MOST_KEPT = 8
FORMS = (".csv", ".xlsx")
PLAIN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,80}")


@dataclass(frozen=True, slots=True)
class Taken:
    """A file as it was sent, under a name that may be shown."""

    name: str
    content: bytes


@dataclass
class Tray:
    """The last few files sent; nothing of them is on the disk until they are read."""

    _held: OrderedDict[str, Taken] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def put(self, one: Taken) -> str:
        name = secrets.token_hex(8)
        with self._lock:
            self._held[name] = one
            while len(self._held) > MOST_KEPT:
                self._held.popitem(last=False)
        return name

    def get(self, name: str) -> Taken:
        with self._lock:
            found = self._held.get(name)
        if found is None:
            raise HTTPException(404, "This table is not held any more. Choose the file again.")
        return found


def routes(page: Page) -> list[Route]:
    tray = Tray()

    async def choose(_request: Request) -> Response:
        return await run_in_threadpool(page.show, "take.html", shown=None, id="", name="")

    async def send(request: Request) -> Response:
        taken, _form = await received(page, request, "readings")
        return to(f"/readings/{tray.put(taken)}")

    async def preview(request: Request) -> Response:
        return await run_in_threadpool(_preview, page, tray, request.path_params["id"])

    async def keep(request: Request) -> Response:
        await page.form(request)
        return await run_in_threadpool(_kept, page, tray, request.path_params["id"])

    return [
        Route("/readings", choose),
        Route("/readings", send, methods=["POST"]),
        Route("/readings/{id}", preview),
        Route("/readings/{id}", keep, methods=["POST"]),
    ]


async def received(page: Page, request: Request, otherwise: str) -> tuple[Taken, FormData]:
    """The table that was sent, under its own name where that is a plain one; and the form it came with.

    Raises UsageError for anything but a CSV or XLSX file of at most 2 MB.
    """
    form = await page.form(request)
    try:
        sent = form.get("file")
        if not isinstance(sent, UploadFile) or not sent.filename:
            raise UsageError("no file was chosen", "choose a CSV or XLSX file first")
        content = await sent.read(MOST_BYTES + 1)
    finally:
        await form.close()
    return _taken(sent.filename, content, otherwise), form


def _taken(filename: str, content: bytes, otherwise: str) -> Taken:
    form = Path(filename.replace("\\", "/")).suffix.casefold()
    if form not in FORMS:
        raise UsageError("the file is neither CSV nor XLSX", "save the table as one of them")
    if len(content) > MOST_BYTES:
        raise UsageError("the table is larger than 2 MB", "take it in parts")
    name = filename.replace("\\", "/").rpartition("/")[2]
    return Taken(name if PLAIN_NAME.fullmatch(name) else f"{otherwise}{form}", content)


def _read(page: Page, taken: Taken, *, write: bool) -> Preview:
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / taken.name
        path.write_bytes(taken.content)
        return import_readings(page.desk.sources(), path, write=write)


def _preview(page: Page, tray: Tray, name: str) -> Response:
    return _shown(page, name, tray.get(name), write=False)


def _kept(page: Page, tray: Tray, name: str) -> Response:
    return _shown(page, name, tray.get(name), write=True)


def _shown(page: Page, name: str, taken: Taken, *, write: bool) -> Response:
    """The rows and their faults. What is kept is read again, with the trials as they are then."""
    found = _read(page, taken, write=write)
    status = 409 if found.problems else 200
    shown = import_of(found, page.figures)
    return page.show("take.html", status, shown=shown, id=name, name=taken.name, written=found.written)
