"""All screens behind the first. Each module of screens brings its own routes."""

from __future__ import annotations

from starlette.routing import Route

from optimiser.page import (
    adopting,
    another_way,
    asking_again,
    changing,
    comparing,
    editing,
    kept,
    learning,
    opening,
    printing,
    standing,
    taking,
    trading,
    trying,
    underneath,
    weighing_why,
)
from optimiser.page.show import Page


def routes(page: Page) -> list[Route]:
    return [
        *standing.routes(page),
        *changing.routes(page),
        *kept.routes(page),
        *printing.routes(page),
        *adopting.routes(page),
        *asking_again.routes(page),
        *another_way.routes(page),
        *trying.routes(page),
        *opening.routes(page),
        *taking.routes(page),
        *learning.routes(page),
        *comparing.routes(page),
        *trading.routes(page),
        *weighing_why.routes(page),
        *editing.routes(page),
        *underneath.routes(page),
    ]
