"""Style and script of the page: the only files that are given out as they lie."""

from __future__ import annotations

import mimetypes
from importlib import resources

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

GIVEN = ("page.css", "page.js", "htmx.min.js")


async def give(request: Request) -> Response:
    """A file of the page; 404 for any other name."""
    name = request.path_params["name"]
    if name not in GIVEN:
        return PlainTextResponse("There is no such page.\n", 404)
    content = resources.files("optimiser.page").joinpath("static", name).read_bytes()
    kind = mimetypes.guess_type(name)[0] or "text/plain"
    return Response(content, media_type=kind)
