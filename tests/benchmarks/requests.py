"""Random requests, the same for the same seed: a fourth of the demo worktable, the rest of the small one."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.measures import cost, middle
from optimiser.domain.brief import AIMS
from optimiser.domain.request import Request
from optimiser.domain.rules import (
    Absent,
    Amount,
    Cost,
    Head,
    Level,
    LineCount,
    Mean,
    Newcomers,
    Ratio,
    Rule,
    Share,
)
from optimiser.domain.selector import Pick
from optimiser.errors import OptimiserError
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import request_for
from tests.small import INGREDIENTS, request
from tests.workflows.desk import demo

TENTH = Fraction(1, 10)
OF_DEMO = 4
"""Every so many seeds ask the demo worktable."""


def random_request(seed: int) -> Request:
    """The request of a seed; one that is refused before anything is solved is drawn again."""
    dice = random.Random(seed)
    if seed % OF_DEMO:
        return _small(dice)
    while True:
        try:
            return _of_demo(dice)
        except OptimiserError:
            continue


def _of_demo(dice: random.Random) -> Request:
    sources = demo()
    table = sources.worktable
    formula = table.formulas[dice.choice(sorted(table.formulas))]
    own = sorted(formula.ingredients)
    said: dict[str, object] = {"leave_out": dice.sample(own, dice.choice((0, 1, 1, 2, 3)))}
    if dice.random() < 0.4:
        said["briefs"] = [dice.choice(sorted(table.briefs))]
    if dice.random() < 0.2:
        said["leave_out"] = [f"flag:{dice.choice(sorted(sources.vocabulary.flags))}"]
    if dice.random() < 0.1:
        said["only_from"] = "shelf"
    if dice.random() < 0.6:
        said["aim"] = [dice.choice(AIMS)]
    made = request_for(sources, ask(sources, formula.id, said))
    return _with_more(made, dice, dice.choice((0, 1, 1, 2)))


def _small(dice: random.Random) -> Request:
    made = replace(request(), aim=(dice.choice(AIMS),))
    gone = dice.sample(sorted(set(INGREDIENTS) - {"water"}), dice.choice((0, 1, 2)))
    absent = tuple(Absent(_head(f"no {name}"), Pick("ingredient", name)) for name in gone)
    shelf = {name: Fraction(dice.randint(0, 300)) for name in ("water", "kaolin", "illite")}
    return _with_more(replace(made, rules=(*made.rules, *absent), shelf_g=shelf), dice, dice.randint(1, 4))


def _with_more(made: Request, dice: random.Random, count: int) -> Request:
    base = Amounts(tuple(sorted(made.base.items())), made.ingredients)
    more = [rule for n in range(count) if (rule := _rule(n, base, dice)) is not None]
    rules = tuple(sorted((*made.rules, *more), key=lambda rule: rule.head.id))
    return replace(made, rules=rules)


def _head(name: str, rank: int | None = None) -> Head:
    return Head(f"asked#{name}", f"{name}: as drawn.", "drawn", "", "wish" if rank else "character", rank)


def _rule(number: int, base: Amounts, dice: random.Random) -> Rule | None:
    """A rule round about what the base has, with limits in tenths."""
    head = _head(f"drawn {number}", dice.choice((None, None, None, 1, 2)))
    groups = sorted({one.group for one in base.present})
    group = Pick("group", dice.choice(groups))
    match dice.randrange(8):
        case 0 | 1:
            share = Share(head, group)
            low, high = _window(middle(share, base), dice)
            return replace(share, low=low, high=high)
        case 2:
            level = Level(head, "thickening")
            low, high = _window(middle(level, base), dice)
            return replace(level, low=low, high=high)
        case 3:
            if any(one.figure("solids") is None for one in base.present):
                return None
            mean = Mean(head, "solids")
            low, high = _window(middle(mean, base), dice)
            return replace(mean, low=low, high=high)
        case 4:
            price = cost(base)
            return None if price is None else Cost(head, price * Fraction(dice.randint(40, 130), 100))
        case 5:
            name = dice.choice([one.id for one in base.present])
            return Amount(head, name, *_window(base.of(name), dice))
        case 6:
            other = Pick("group", dice.choice(groups))
            return Ratio(head, group, other, None, Fraction(dice.randint(1, 40), 20))
        case _:
            head = replace(head, rank=None, basis="character")
            if dice.random() < 0.5:
                return Newcomers(head, dice.randint(0, 2))
            return LineCount(head, max(1, len(base.present) - dice.randint(-1, 4)))


def _window(value: Fraction, dice: random.Random) -> tuple[Fraction | None, Fraction | None]:
    low = round(value * Fraction(dice.randint(40, 130), 100) / TENTH) * TENTH
    high = low + round(value * Fraction(dice.randint(0, 60), 100) / TENTH) * TENTH
    shape = dice.randrange(3)
    return (None if shape == 1 else low), (None if shape == 2 else high)
