"""`--write-docs` rewrites generated pages, the outputs shown in sessions and what examples print."""

from __future__ import annotations

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--write-docs", action="store_true", help="rewrite the pages that tests compare")


@pytest.fixture
def write_docs(request: pytest.FixtureRequest) -> bool:
    """Whether what is out of date is to be rewritten rather than reported."""
    return bool(request.config.getoption("--write-docs", default=False))
