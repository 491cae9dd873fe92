"""Screening never changes the optimum: small models beside every set of newcomers tried by hand."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import pytest

from optimiser.lp.build import build
from optimiser.model.rows import Model, Row, Var
from optimiser.search.stages import newcomers_of
from optimiser.solver import screening
from optimiser.solver.columns import Newcomer
from optimiser.solver.highs import solve_lp, solve_milp
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.screening import SPARE, screen
from tests.effort import THOROUGH
from tests.workflows.desk import closed, third_of_demo

ZERO, ONE, HUNDRED = Fraction(0), Fraction(1), Fraction(100)
SOME = 6
ORDINARY = 8
SEEDS = range(100 if THOROUGH else ORDINARY)
BETTER = (0, 7)
"""Of the ordinary ones, those in which a longer look finds a better answer on its way."""


def drawn(seed: int) -> tuple[Model, tuple[Newcomer, ...]]:
    """A blend of three old lines and six newcomers with prices, ranges, bands and charges."""
    dice = random.Random(seed)
    newcomers = tuple(Newcomer(f"y:{n}", f"x:{n}", dice.choice("ab")) for n in range(SOME))
    old = [Var(f"x:old{n}", ZERO, HUNDRED) for n in range(3)]
    variables = [*old, Var("off", ZERO, None)]
    shares = [var.name for var in old] + [one.share for one in newcomers]
    rows = [Row("total", tuple((name, ONE) for name in shares), HUNDRED, HUNDRED)]
    for one in newcomers:
        least = Fraction(dice.randint(1, 60), 10)
        most = least + Fraction(dice.randint(0, 300), 10)
        variables += [Var(one.share, ZERO, HUNDRED), Var(one.flag, ZERO, ONE, "B")]
        rows += [
            Row(f"there:{one.flag}", ((one.share, ONE), (one.flag, -HUNDRED)), None, ZERO),
            Row(f"least:{one.flag}", ((one.share, ONE), (one.flag, -least)), ZERO, None),
            Row(f"most:{one.flag}", ((one.share, ONE), (one.flag, -most)), None, ZERO),
        ]
    point = _point(dice, shares)
    for n in range(3):
        worth = tuple((name, Fraction(dice.randint(0, 20), 10)) for name in shares if dice.random() < 0.7)
        middle = sum((value * point[name] for name, value in worth), ZERO)
        rows.append(Row(f"band {n}", worth, middle * Fraction(8, 10), middle * Fraction(12, 10)))
    rows.append(Row("few", tuple((one.flag, ONE) for one in newcomers), None, Fraction(dice.randint(2, 4))))
    pulled = {name: Fraction(dice.randint(0, 9), 10) for name in shares}
    target = Fraction(dice.randint(10, 50))
    rows += [
        Row("over", (*pulled.items(), ("off", -ONE)), None, target),
        Row("under", (*pulled.items(), ("off", ONE)), target, None),
    ]
    cost = {name: Fraction(dice.randint(0, 40), 100) for name in shares} | {"off": Fraction(1, 2)}
    cost |= {one.flag: Fraction(dice.choice((0, 1, 5))) for one in newcomers}
    return Model(f"drawn {seed}", tuple(variables), tuple(rows)).with_cost(cost), newcomers


def _point(dice: random.Random, shares: list[str]) -> dict[str, Fraction]:
    """Shares that the bands are drawn about: the old lines and two of the newcomers."""
    weights = {name: dice.randint(1, 9) for name in (*shares[:3], *dice.sample(shares[3:], 2))}
    return {name: HUNDRED * weights.get(name, 0) / sum(weights.values()) for name in shares}


@cache
def screened(seed: int) -> frozenset[str] | None:
    return screen(*drawn(seed), Limits(), few=0)


def by_hand(model: Model, newcomers: tuple[Newcomer, ...]) -> dict[frozenset[str], float]:
    """The best cost of every set of newcomers that has any answer."""
    found = {}
    for there in itertools.product((ZERO, ONE), repeat=len(newcomers)):
        bounds = {one.flag: (yes, yes) for one, yes in zip(newcomers, there, strict=True)}
        answer = solve_lp(model.with_bounds(bounds))
        if answer.outcome is Outcome.OPTIMAL and answer.objective is not None:
            found[frozenset(one.flag for one, yes in zip(newcomers, there, strict=True) if yes)] = (
                answer.objective
            )
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_out_is_in_no_best_answer(seed: int) -> None:
    fits_by_hand(seed, screened(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_neither_is_what_longer_looks_rule_out(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """As if many were left after a short look, from an answer at hand that has no newcomer tried for it."""
    looks: list[bool] = []
    monkeypatch.setattr(screening, "ENOUGH", {screening.FIRST_NODES: 0, screening.NODES: 0})
    monkeypatch.setattr(screening, "TRIED", 0)
    look = screening._looked_at

    def watched(*given: Any) -> Any:
        at, better = look(*given)
        looks.append(better)
        return at, better

    monkeypatch.setattr(screening, "_looked_at", watched)
    fits_by_hand(seed, screen(*drawn(seed), Limits(), few=0))
    assert any(looks) == (seed in BETTER) or seed >= ORDINARY


def test_what_was_ruled_out_on_the_way_stays_out_where_nothing_is_left_to_look_at() -> None:
    """A fee on each newcomer rules out all but those of the best answer, the last by the first bound."""
    model, newcomers = drawn(50)
    fees = {one.flag: dict(model.cost).get(one.flag, ZERO) + 3 for one in newcomers}
    dear = model.with_cost(dict(model.cost) | fees)
    found = screen(dear, newcomers, Limits(), few=0)
    assert found is not None
    best = min(by_hand(dear, newcomers).values())
    needed = frozenset().union(*(f for f, c in by_hand(dear, newcomers).items() if c <= best + SPARE / 2))
    assert {one.flag for one in newcomers} - found == needed


def fits_by_hand(seed: int, found: frozenset[str] | None) -> None:
    """Nothing that is out is in an answer as good as the best, and the best is still there without it."""
    model, newcomers = drawn(seed)
    every = by_hand(model, newcomers)
    best = min(every.values())
    near = best + SPARE * max(1.0, abs(best)) / 2
    if found is not None:
        as_good = frozenset().union(*(flags for flags, cost in every.items() if cost <= near))
        assert not as_good & found
        left = solve_milp(model.without_vars(found))
        assert left.objective == pytest.approx(best, abs=1e-6)


def test_much_is_out_where_much_can_be() -> None:
    """The property would hold of a screen that leaves everything in: here it must not."""
    counts = [len(found) // 2 for found in map(screened, SEEDS) if found is not None]
    assert len(counts) >= 6
    assert sum(counts) >= 2 * len(counts)


def test_nothing_is_said_of_a_model_without_an_answer() -> None:
    model, newcomers = drawn(1)
    never = Row("never", (("x:old0", ONE),), Fraction(200), None)
    assert screen(model.with_rows((never,)), newcomers, Limits(), few=0) is None


def test_a_share_without_its_flag_is_no_newcomer() -> None:
    model, newcomers = drawn(1)
    loose = replace(model, rows=tuple(row for row in model.rows if row.name != f"there:{newcomers[0].flag}"
                                      and row.name != f"most:{newcomers[0].flag}"))  # fmt: skip
    assert screen(loose, newcomers, Limits(), few=0) is None


@pytest.mark.parametrize("price", [1, 5])
def test_all_newcomers_may_be_out(price: int) -> None:
    """What is left to look at is then nothing; with a dear old line the cheapest newcomer stays."""
    newcomers = tuple(Newcomer(f"y:{n}", f"x:{n}", "a") for n in range(SOME))
    variables = [Var("x:old", ZERO, HUNDRED)]
    rows = [Row("total", (("x:old", ONE), *((one.share, ONE) for one in newcomers)), HUNDRED, HUNDRED)]
    cost = {"x:old": Fraction(price)}
    for number, one in enumerate(newcomers):
        variables += [Var(one.share, ZERO, HUNDRED), Var(one.flag, ZERO, ONE, "B")]
        rows += [
            Row(f"there:{one.flag}", ((one.share, ONE), (one.flag, -HUNDRED)), None, ZERO),
            Row(f"least:{one.flag}", ((one.share, ONE), (one.flag, -ONE)), ZERO, None),
        ]
        cost[one.share] = Fraction(3) + Fraction(number, 10)
    found = screen(Model("m", tuple(variables), tuple(rows)).with_cost(cost), newcomers, Limits(), few=0)
    kept = newcomers if price == 1 else newcomers[1:]
    assert found == frozenset(name for one in kept for name in (one.flag, one.share))


def test_all_are_out_where_none_helps() -> None:
    model, newcomers = drawn(2)
    dear = {one.flag: Fraction(1000) for one in newcomers}
    old = tuple(row for row in model.rows if not row.name.startswith("band"))
    found = screen(
        replace(model, rows=old).with_cost({**dict(model.cost), **dear}), newcomers, Limits(), few=0
    )
    assert found == frozenset(name for one in newcomers for name in (one.flag, one.share))


def test_what_goes_with_a_newcomer_is_nought_without_it() -> None:
    """Else leaving it out with the newcomer would leave out more."""
    request = closed(third_of_demo("rose-serum"), "rose-serum", leave_out=["sodium-benzoate"])
    model, looked_at = build(request), 0
    there = {var.name for var in model.vars}
    for one in newcomers_of(request):
        helpers = [name for name in one.helpers if name in there]
        if helpers:
            looked_at += 1
            off = dict.fromkeys((one.flag, one.share), (ZERO, ZERO))
            most = model.with_bounds(off).with_cost(dict.fromkeys(helpers, ONE), "max")
            assert (solve_lp(most).objective or 0.0) == pytest.approx(0, abs=1e-7)
    assert looked_at
