"""Invented tables of 4 to 15 ingredients with rules of every kind and numbers that are hard on a solver.

An ingredient keeps what the invented demo says of it; its price, shares and strengths are drawn anew.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cache
from typing import Literal, cast, get_args

from optimiser.checks.amounts import Amounts
from optimiser.checks.forecasts import Told, foretell
from optimiser.checks.free_liquid import Left, left_of
from optimiser.checks.measures import cost, middle
from optimiser.domain.brief import AIMS, Brief, LeaveOut
from optimiser.domain.formula import Dosed, Formula, Line, Phase
from optimiser.domain.ingredient import Figure, Ingredient, Pack
from optimiser.domain.product import Product
from optimiser.domain.request import Request, Slot
from optimiser.domain.response import Fitted, Reach
from optimiser.domain.rules import (
    FORECASTS,
    MICROBES,
    Clash,
    Head,
    Legal,
    Level,
    Mean,
    Needs,
    Rule,
    Share,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Pick, Selector
from optimiser.domain.wanted import Span, Topic, Wanted
from optimiser.domain.worktable import Lot
from optimiser.errors import OptimiserError
from optimiser.requests.draft import base_amounts, draft
from optimiser.requests.options import Options
from optimiser.requests.sources import Sources
from optimiser.solver.interface import Limits
from optimiser.workflows.propose import Asked, request_for
from tests.workflows.desk import demo

F = Fraction
STEP = F(1, 1000)
Hard = Literal["plain", "scaled", "tied", "doubled", "last digit", "at the edge"]
HARD = cast("tuple[Hard, ...]", get_args(Hard))
"""What makes the numbers of a request hard: nothing; shares from 0.0001 to 99 % and strengths and prices over
eight decades; equal prices and twins; rules said twice and windows without width; shares that cannot add up
by the last of 3 to 15 digits; limits that the base meets to the last digit."""
POOLS = {
    "mask": "clay starch flour gum polyol wet-humectant preservative acid active mineral-powder",
    "lotion": "oil ester emulsifier fatty-alcohol gum polyol preservative acid",
    "balm": "oil butter wax ester antioxidant mineral-powder",
    "wash": "surfactant conditioner polyol gum preservative acid salt chelator",
}
TOPICS: tuple[Topic, ...] = tuple(topic for topic in get_args(Topic) if topic != "keep")


def invented_request(seed: int) -> Request:
    """The request of a seed; one that is refused before anything is solved is drawn again."""
    dice = random.Random(f"invented {seed}")
    while True:
        try:
            return _drawn(seed, dice)
        except OptimiserError:
            continue


def hard_of(seed: int) -> Hard:
    return HARD[seed % len(HARD)]


@dataclass(frozen=True, slots=True)
class _Desk:
    """A table and its base while rules are drawn."""

    sources: Sources
    formula: Formula
    hard: Hard
    dice: random.Random

    @property
    def amounts(self) -> Amounts:
        base = tuple(sorted(base_amounts(self.formula).items()))
        return Amounts(base, self.sources.worktable.ingredients)

    @property
    def names(self) -> list[str]:
        return sorted(self.sources.worktable.ingredients)


def _drawn(seed: int, dice: random.Random) -> Request:
    desk = _desk(hard_of(seed), dice)
    wants = [_wanted(desk, number) for number in range(dice.choice((0, 1, 1, 2, 3)))]
    own = tuple(want for want in wants if want is not None)
    formula = replace(desk.formula, targets=own[::2])
    brief = Brief("asked", "Asked", targets=own[1::2], leave_out=tuple(_left_out(desk)))
    table = desk.sources.worktable
    table = replace(table, formulas={"invented": formula}, briefs={"asked": brief})
    sources = replace(desk.sources, worktable=table)
    shelf = "shelf" if dice.random() < 0.1 else ""
    options = Options(briefs=("asked",), aim=(dice.choice(AIMS),), only_from=shelf, bare=dice.random() < 0.3)
    made = request_for(sources, Asked(formula, options, 0, Limits()))
    more = [*_further(desk, made), *_hard_rules(desk, made)]
    return replace(made, rules=tuple(sorted((*made.rules, *more), key=lambda rule: rule.head.id)))


def _desk(hard: Hard, dice: random.Random) -> _Desk:
    known = demo().worktable.ingredients
    style = dice.choice(sorted(POOLS))
    wet = style != "balm"
    groups = set(POOLS[style].split())
    pool = sorted(name for name, one in known.items() if one.group in groups)
    names = dice.sample(pool, dice.choice((2, 3, 4, 4, 5, 5, 6, 7, 8, 11)))
    filler = "water" if wet else next((n for n in names if known[n].group in ("oil", "ester")), "squalane")
    keepers = [name for name in pool if known[name].kind == "preservative-alcohol"]
    names = sorted({*names, filler, *dice.sample(keepers, 2 if wet else 0)})
    table = {name: _scrambled(known[name], hard, dice) for name in names}
    if hard == "tied":
        table |= {f"{name}-twin": replace(table[name], id=f"{name}-twin", name=f"{table[name].name} twin")
                  for name in dice.sample(names, 1) if name != filler}  # fmt: skip
    formula = _formula(table, filler, style, hard, dice)
    clashes = tuple(dice.sample(demo().worktable.clashes, 6))
    shelf = tuple(Lot(name, "L", F(dice.choice((0, 5, 50, 5000)))) for name in names)
    worktable = replace(
        demo().worktable, ingredients=table, shelf=shelf, formulas={}, briefs={}, clashes=clashes,
        responses={"felt": _response(formula, dice)},
    )  # fmt: skip
    return _Desk(replace(demo(), worktable=worktable), formula, hard, dice)


def _scrambled(one: Ingredient, hard: Hard, dice: random.Random) -> Ingredient:
    """Another price, range and strength."""
    price = {"tied": F(5), "scaled": F(10) ** dice.randint(-3, 4) * dice.randint(1, 9)}.get(
        hard, F(dice.randint(10, 900), 10)
    )
    figures = dict(one.figures)
    if "thickening" in figures:
        times = F(10) ** dice.randint(-4, 3) if hard == "scaled" else F(dice.randint(5, 20), 10)
        figures["thickening"] = _times(figures["thickening"], times)
    if one.group == "preservative" and dice.random() < 0.8:
        dose = (one.use_max or F(1)) * F(dice.randint(1, 6), 10)
        figures |= {f"least_dose_{of}": Figure(dose, dose, dose, "%", "invented") for of in MICROBES}
        figures.pop("ph_works_max", None)
    if hard == "scaled":
        one = replace(one, use_min=None)
    parts = one.composition
    if parts and hard == "scaled" and dice.random() < 0.5:
        tiny = F(1, 10**6)
        parts = (*parts[:-1], replace(parts[-1], value=tiny, low=tiny / 10, high=tiny * 10))
    return replace(one, pack=Pack(F(1000), price), figures=figures, composition=parts)


def _times(figure: Figure, by: Fraction) -> Figure:
    return replace(figure, value=figure.value * by, low=figure.low * by, high=figure.high * by)


def _formula(
    table: dict[str, Ingredient], filler: str, style: str, hard: Hard, dice: random.Random
) -> Formula:
    others = sorted(set(table) - {filler})
    kept = [name for name in others if table[name].kind == "preservative-alcohol"][-1:]
    own = sorted({*kept, *dice.sample(others, dice.randint(min(2, len(others)), min(8, len(others))))})
    phases = {name: dice.choice("AB") for name in own}
    lines: dict[str, list[Line]] = {"A": [], "B": []}
    left, most = F(100), 90 // len(own)
    for name in own:
        one = table[name]
        least = int((one.use_min or F(0)) * 100) + 1
        top = max(min(int(one.use_max or most), most) * 100, least)
        share = F(top if name in kept else dice.randint(least, top), 100)
        if hard == "scaled" and name not in kept:
            share = STEP * 10 ** dice.randint(0, 3)
        dosed = Dosed("pH 5") if one.group in ("acid", "alkali") and dice.random() < 0.5 else None
        lines[phases[name]].append(Line(name, share, dosed=dosed))
        left -= share
    lines["B"].append(Line(filler, left, fills=True))
    product = Product(dice.choice(("rinse-off", "leave-on")), "face" if style != "wash" else "hair")
    made = tuple(Phase(name, "", tuple(found)) for name, found in lines.items() if found)
    return Formula("invented", "Invented", product, made, F(250))


def _response(formula: Formula, dice: random.Random) -> Fitted:
    """A score, straight or bent, that trials about the base would have taught."""
    shares = [(line.ingredient, line.percent, line.dosed) for _, line in formula.lines]
    varied = sorted(shares, key=lambda item: -item[1])[:2]
    reach = tuple(Reach(name, share / 2, min(share * 2, F(100))) for name, share, _ in varied)
    others = tuple(
        Reach(name, F(0), share * 2) for name, share, _ in shares if (name, share, _) not in varied
    )
    names = [one.ingredient for one in reach]
    terms: list[tuple[str, ...]] = [(name,) for name in names]
    if dice.random() < 0.3:
        terms.append(tuple(names))
    size = range(len(terms))
    return Fitted(
        id="felt", name="felt", model="linear" if len(terms) == len(names) else "quadratic",
        varied=reach, together=(F(1), F(100)), terms=tuple(terms),
        coefficients=tuple(F(dice.randint(-40, 90), 10) for _ in terms),
        covariance=tuple(tuple(F(1, 20) if i == j else F(0) for j in size) for i in size),
        deviation=F(1, 5), freedom=5, sure=F(2), trials=("one", "two"), fitted=date(2026, 11, 1),
        lows=tuple(F(0) for _ in names), others=others, scale=(F(0), F(10)),
    )  # fmt: skip


def _left_out(desk: _Desk) -> Iterator[LeaveOut]:
    dice = desk.dice
    for name in dice.sample(desk.names, dice.choice((0, 0, 0, 1, 1, 2))):
        if not any(line.fills and line.ingredient == name for _, line in desk.formula.lines):
            rank = 1 if dice.random() < 0.2 else None
            yield LeaveOut(Pick("ingredient", name), f"no {name}", rank=rank)


def _selector(desk: _Desk) -> Selector:
    """One group or ingredient of the table, or two of them."""
    table = desk.sources.worktable.ingredients
    picks = [Pick("group", one.group) for one in table.values()] + [Pick("ingredient", n) for n in table]
    if desk.dice.random() < 0.8:
        return desk.dice.choice(picks)
    return AnyOf(tuple(desk.dice.sample(picks, 2)))


HEAD = Head("none", "")


def _wanted(desk: _Desk, number: int) -> Wanted | None:
    """A want of any topic with limits about what the base has; None where that cannot be told."""
    dice = desk.dice
    topic = dice.choice(TOPICS)
    rank = dice.choice((None, None, None, 1, 2))
    want = Wanted(topic, f"{topic} {number}", rank=rank, surely=dice.random() < 0.2)
    match topic:
        case "share":
            want = replace(want, of=_selector(desk), phase=dice.choice((None, None, "A")))
        case "level":
            want = replace(want, name="thickening")
        case "mean":
            want = replace(want, name=dice.choice(("solids", "water_content", "natural_origin")))
        case "ratio":
            return replace(want, of=_selector(desk), over=_selector(desk), span=_span(F(1, 2), desk))
        case "ph":
            low = F(dice.randint(35, 60), 10)
            return replace(want, rank=None, span=Span(low, low + F(dice.choice((3, 10, 20)), 10)))
        case "covers" | "reaches_water":
            return replace(want, name=dice.choice(MICROBES), rank=None)
        case "thickness":
            return replace(want, span=Span(within_part=F(1, dice.choice((2, 5, 50)))))
        case "response":
            want = replace(want, name="felt")
        case "newcomers" | "lines":
            many = (
                dice.randint(0, 2)
                if topic == "newcomers"
                else len(desk.formula.ingredients) - dice.randint(-1, 2)
            )
            return replace(want, span=Span(high=F(max(many, 0 if topic == "newcomers" else 1))))
        case _:
            pass
    value = _value(desk, want)
    return None if value is None else replace(want, span=_span(value, desk))


def _value(desk: _Desk, want: Wanted) -> Fraction | None:
    """What the base has of it."""
    amounts = desk.amounts
    if want.topic == "share" and want.of is not None:
        return middle(Share(HEAD, want.of, phase=want.phase), amounts)
    if want.topic == "level":
        return middle(Level(HEAD, want.name), amounts)
    if want.topic == "mean":
        known = all(one.figure(want.name) for one in desk.sources.worktable.ingredients.values())
        return middle(Mean(HEAD, want.name), amounts) if known else None
    if want.topic == "cost":
        return cost(amounts)
    if want.topic == "response":
        return F(desk.dice.randint(20, 80), 10)
    if want.topic == "free_liquid":
        left = left_of(amounts, not _watery(desk))
        return left.value if isinstance(left, Left) else None
    (of,) = (one for one in FORECASTS if one == want.topic)
    told = foretell(of, amounts, None, desk.sources.constants)
    return F(repr(round(float(told.value), 4))) if isinstance(told, Told) else None


def _watery(desk: _Desk) -> bool:
    return draft(desk.sources, desk.formula, Brief("", ""), Options(), None).watery


def _span(value: Fraction, desk: _Desk) -> Span:
    """A window about a value: in tenths as a maker writes it, or to the last digit where that is asked."""
    dice = desk.dice
    if desk.hard == "at the edge":
        hair = dice.choice((-1, 0, 1)) * F(1, 10 ** dice.randint(3, 12))
        low, high = value + hair, value + hair
    else:
        digits = 4 if desk.hard == "scaled" else 1
        low = round(value * F(dice.choice((40, 70, 90, 98, 105, 120)), 100), digits)
        width = 0 if desk.hard == "doubled" and dice.random() < 0.5 else dice.randint(0, 120)
        high = low + round(abs(value) * F(width, 100), digits)
    shape = dice.randrange(3)
    return Span(None if shape == 1 else low, None if shape == 2 else high)


def _head(name: str) -> Head:
    return Head(f"drawn#{name}", f"{name}: as drawn.", "drawn")


def _further(desk: _Desk, made: Request) -> Iterator[Rule]:
    """Kinds that no brief writes, on top of those that stand by custom."""
    dice = desk.dice
    if dice.random() < 0.15:
        yield Clash(_head("clash"), _selector(desk), _selector(desk))
    if dice.random() < 0.15:
        some = F(dice.randint(0, 40), 10)
        yield Needs(_head("needs"), _selector(desk), some, _selector(desk), F(dice.randint(1, 30), 10))
    if dice.random() < 0.15:
        parts = [p.substance for one in made.ingredients.values() for p in one.composition or ()]
        if parts:
            yield Legal(_head("law"), ((dice.choice(sorted(parts)), F(1)),), F(dice.randint(0, 90), 10))
    if dice.random() < 0.15:
        name = dice.choice(sorted(made.ingredients))
        if name != made.filler.ingredient:
            yield UseRange(_head("range"), name, F(dice.randint(1, 20), 10), F(dice.randint(20, 90), 10))


def _hard_rules(desk: _Desk, made: Request) -> Iterable[Rule]:
    dice = desk.dice
    if desk.hard == "doubled":
        twice = [rule for rule in made.rules if not isinstance(rule, UseRange)]
        return [_said_again(rule, n) for n, rule in enumerate(dice.sample(twice, min(3, len(twice))))]
    if desk.hard == "last digit":
        return _last_digit(desk, made)
    if desk.hard == "scaled" and made.ingredients:
        name = dice.choice(sorted(set(made.ingredients) - {made.filler.ingredient}) or ["water"])
        return [Share(_head("trace"), Pick("ingredient", name), None, F(dice.choice((1, 10, 100)), 10**4))]
    return []


def _said_again(rule: Rule, number: int) -> Rule:
    return replace(rule, head=replace(rule.head, id=f"again {number}#{rule.head.id}"))


def _last_digit(desk: _Desk, made: Request) -> list[Rule]:
    """Shares that would have to add up to a hair more than the sum may be, or to just as much."""
    dice = desk.dice
    names = sorted({slot.ingredient for slot in made.slots if isinstance(slot, Slot)})
    picked = dice.sample(names, min(dice.randint(2, 3), len(names)))
    most = [made.ingredients[name].use_max or F(5) for name in picked]
    each = [top * F(dice.randint(300, 900), 1000) for top in most]
    hair = dice.choice((0, 1, 1)) * F(1, 10 ** dice.randint(3, 15))
    least = [
        Share(_head(f"least {n}"), Pick("ingredient", n), low) for n, low in zip(picked, each, strict=True)
    ]
    together = AnyOf(tuple(Pick("ingredient", name) for name in picked))
    return [*least, Share(_head("together"), together, None, sum(each, F(0)) - hair)]


@cache
def kinds() -> tuple[str, ...]:
    """Every kind of rule there is, by name."""
    return tuple(sorted(one.__name__ for one in get_args(Rule)))
