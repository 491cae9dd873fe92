"""A pytest plugin: a property that fails says so at once, without the search for a smaller case."""

from __future__ import annotations

from hypothesis import Phase, settings


def pytest_collection() -> None:
    """After tests/conftest.py chose a profile and before any test is read."""
    quick = [phase for phase in Phase if phase not in (Phase.shrink, Phase.explain)]
    settings.register_profile("unshrunk", settings.get_profile("ordinary"), phases=quick)
    settings.load_profile("unshrunk")
