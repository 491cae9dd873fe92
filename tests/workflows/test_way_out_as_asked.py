"""The formula of a way out is the one that asking so gives."""

from __future__ import annotations

import pytest

from optimiser.domain.outcome import Impossible, Proposals
from optimiser.page.drafts import Asking
from optimiser.workflows.ask import ask
from optimiser.workflows.moving import moves_of
from optimiser.workflows.propose import propose
from tests.workflows.desk import demo


@pytest.mark.parametrize("aim", ["", "cheapest"])
def test_a_way_out_that_is_pressed_gives_what_it_showed(aim: str) -> None:
    asking = Asking(briefs=("impossible-clay",), aim=aim)
    found = propose(demo(), ask(demo(), "sunflower-balm", asking.said))
    assert isinstance(found, Impossible)
    (way, *_) = found.concessions
    assert way.proposal is not None
    for moved in moves_of(way):
        asking = asking.with_limit(moved)
    pressed = propose(demo(), ask(demo(), "sunflower-balm", asking.said))
    assert isinstance(pressed, Proposals)
    lines = [(line.ingredient, line.phase, line.percent) for line in pressed.proposals[0].lines]
    assert [(line.ingredient, line.phase, line.percent) for line in way.proposal.lines] == lines
    assert way.cost_per_kg == pressed.proposals[0].cost_per_kg
