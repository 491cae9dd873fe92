"""One model over a range against trying every ingredient with every formula."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from dataclasses import replace

import pytest

from optimiser.domain.request import Request
from optimiser.domain.rules import Absent, Rule, Share
from optimiser.domain.selector import AnyOf, Pick
from optimiser.lp.build import build
from optimiser.requests.narrow import new_only_from
from optimiser.search.rescue import best_newcomer, joint
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve
from tests.small import CLAY, FORMULA, INGREDIENTS, NO_STRONG, THICK, fr, head, request, with_rule

NEW = sorted(set(INGREDIENTS) - FORMULA.ingredients)


def without(*names: str) -> Absent:
    return Absent(head(f"no {' '.join(names)}"), AnyOf(tuple(Pick("ingredient", name) for name in names)))


def random_range(seed: int) -> list[Request]:
    """Masks that each lose something and ask for an amount of something."""
    chance = random.Random(seed)
    found = []
    for number in range(chance.randint(2, 5)):
        gone = chance.sample(["kaolin", "bentonite", "xanthan", "glycerin"], chance.randint(1, 2))
        rules: list[Rule] = [CLAY, THICK, NO_STRONG]
        asked = request(*chance.sample(rules, chance.randint(1, 3)), without(*gone))
        low = fr(chance.choice(["0.2", "0.5", "8", "15"]))
        group = chance.choice(["gum", "clay", "polyol"])
        found.append(with_rule(asked, Share(head(f"share {number}"), Pick("group", group), low, None)))
    return found


def works(asked: Request, allowed: Sequence[str]) -> bool:
    """One formula by itself, with nothing new but what is allowed."""
    musts = replace(asked, rules=tuple(rule for rule in asked.rules if rule.head.rank is None))
    return solve(build(new_only_from(musts, allowed), lenient=True)).outcome is Outcome.OPTIMAL


def tried_out(requests: Sequence[Request], candidates: Sequence[str]) -> dict[str, tuple[int, ...]]:
    return {
        one: tuple(n for n, asked in enumerate(requests) if works(asked, [one] if one else []))
        for one in ("", *candidates)
    }


@pytest.mark.parametrize("seed", range(12))
def test_the_model_finds_what_trying_every_pair_finds(seed: int) -> None:
    requests = random_range(seed)
    every = tried_out(requests, NEW)
    most = max(len(numbers) for numbers in every.values())
    first = next(one for one in ("", *NEW) if len(every[one]) == most)
    found = best_newcomer(requests, NEW, Limits())
    assert found is not None
    assert (found.ingredient, found.works) == (first, every[first])
    whole = solve(joint(requests, NEW))
    assert sum(value > 0.5 for name, value in whole.values.items() if name.endswith("|works")) == most


def test_the_random_ranges_ask_for_something() -> None:
    """Among them an ingredient helps, none helps, and some formula stays impossible."""
    kinds = set()
    for seed in range(12):
        requests = random_range(seed)
        every = tried_out(requests, NEW)
        best = max(len(numbers) for numbers in every.values())
        kinds.add(("helps" if best > len(every[""]) else "helps not", best < len(requests)))
    assert {"helps", "helps not"} <= {kind for kind, _ in kinds}
    assert any(stays for _, stays in kinds)


def test_what_was_tried_already_is_not_named_again() -> None:
    requests = [request(CLAY, THICK, without("xanthan", "bentonite"))]
    first = best_newcomer(requests, NEW, Limits())
    assert first is not None
    assert first.ingredient == "konjac"
    second = best_newcomer(requests, NEW, Limits(), ["konjac"])
    assert second is not None
    assert second.ingredient == ""
    assert second.works == ()


def test_a_formula_that_does_not_work_asks_for_nothing() -> None:
    """All rows hold with every share at nothing, whatever is asked."""
    requests = [request(CLAY, NO_STRONG, without("kaolin", "illite")), request(CLAY)]
    model = joint(requests, NEW)
    assert not model.violations({var.name: fr(0) for var in model.vars})
    assert not model.faults()
    names = [var.name for var in model.vars]
    assert all(a != b for a, b in itertools.pairwise(sorted(names)))
