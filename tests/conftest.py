"""`--write-docs` rewrites generated pages, the outputs shown in sessions and what examples print.

Random cases are the same in every ordinary run and others with THOROUGH=1; none fails for being slow.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings

from tests import once
from tests.effort import THOROUGH

settings.register_profile(
    "ordinary", deadline=None, derandomize=not THOROUGH, suppress_health_check=list(HealthCheck)
)
settings.load_profile("ordinary")


def pytest_configure(config: pytest.Config) -> None:
    """The folder of the run, made by the process that was called; those it starts are told of it."""
    if not hasattr(config, "workerinput"):
        folder = once.begin()
        config.add_cleanup(lambda: once.end(folder))
        if config.getoption("numprocesses", default=None):
            return
    once.compiled_once()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--write-docs", action="store_true", help="rewrite the pages that tests compare")


@pytest.fixture
def write_docs(request: pytest.FixtureRequest) -> bool:
    """Whether what is out of date is to be rewritten rather than reported."""
    return bool(request.config.getoption("--write-docs", default=False))
