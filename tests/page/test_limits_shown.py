"""The limits of a request as they stand on the page."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from optimiser.page.drafts import Asking
from optimiser.page.views.asks import LimitRow, limits_rows
from optimiser.page.views.figures import Figures
from optimiser.requests.sources import Sources
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import request_for
from optimiser.workflows.worktable import open_worktable

DEMO = Path(__file__).resolve().parents[2] / "ingredient_data_demo"


@pytest.fixture(scope="module")
def sources() -> Sources:
    return open_worktable(DEMO)


def rows(sources: Sources, formula: str, *briefs: str) -> tuple[LimitRow, ...]:
    asking = Asking(briefs=briefs)
    return limits_rows(asking, request_for(sources, ask(sources, formula, asking.said)), (), Figures())


@pytest.mark.parametrize("brief", ["cheapest", "another-thickener", "more-clay"])
def test_no_two_limits_are_called_the_same(sources: Sources, brief: str) -> None:
    for formula in sources.worktable.formulas:
        count = Counter(row.label for row in rows(sources, formula, brief))
        assert {name: many for name, many in count.items() if many > 1} == {}, formula


def test_no_share_of_more_than_the_whole_is_offered(sources: Sources) -> None:
    shown = {row.label: (row.low, row.high) for row in rows(sources, "sunflower-balm")}
    assert shown["Mean solids"] == ("89.7026", "")
