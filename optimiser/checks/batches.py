"""Batches weighed out with real balances, of ingredients as the data leave them: how many meet every rule.

Every batch draws the error of each weighing and each number that has a spread, and is judged by every rule at
what was drawn. What is linear is summed up in floats here; the other predictions are asked of the judge's own
models. What is not known at all (a make-up without a paper, a flag without a row) counts against the rule.

A limit on weights alone is missed past 1 % of itself: as much as a sheet accepts at the balance. Otherwise a
line that stands at its limit on purpose would miss it every other time, by less than anyone can weigh. Limits
of the law and those that rest on drawn numbers are strict.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import assert_never

from optimiser.checks.amounts import Amounts
from optimiser.checks.drawing import (
    Gram,
    Numbers,
    Sum,
    Values,
    added,
    as_drawn,
    of_selector,
    over_lines,
)
from optimiser.checks.drawn_ph import Window
from optimiser.checks.judge import judge, verdict_on
from optimiser.checks.responses import taught
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Batches, Missed
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Clash,
    Cost,
    Covers,
    Forecast,
    FreeLiquid,
    Legal,
    Level,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Ratio,
    Reaches,
    Response,
    Rule,
    Share,
    Stock,
    Thickness,
    UseRange,
)
from optimiser.domain.selector import Selector
from optimiser.science.wetting import liquid_of

NOISE = 1e-9
"""Misses below this, in the unit of the rule, are those of the arithmetic."""
ACCEPTED = 0.01
"""Part of a limit by which weights alone may miss it (common practice: 1 % at the balance)."""
NORMAL = 1.959964
"""The standard normal's 97.5 % point: a 95 % interval lies this many deviations either side."""
PLACES = 9
Test = Callable[[Sequence[float], Values], bool]


@dataclass(frozen=True, slots=True)
class Weighing:
    """A line as it is weighed: `grams` on the balance, and by how much each of its readings may be off.

    A net weight is the difference of two readings, each right to half a step: so it errs like the sum of two
    even draws of half a step. `steps` holds the step of every portion, in grams; none: taken as exact.
    """

    slot: Slot
    grams: Fraction
    steps: tuple[Fraction, ...] = ()


def count_batches(request: Request, weighed: Sequence[Weighing], batches: int, seed: int = 0) -> Batches:
    """How many of `batches` meet every must, with the 95 % interval (E. B. Wilson 1927) of the true part."""
    trial = Trial(request, weighed)
    dice = random.Random(seed)  # noqa: S311
    met, missed = 0, [0] * len(trial.rules)
    for _ in range(batches):
        shares, values = trial.draw(dice)
        failed = trial.missed(shares, values)
        met += not failed
        for at in failed:
            missed[at] += 1
    found = [Missed(rule, count) for rule, count in zip(trial.rules, missed, strict=True) if count]
    low, high = wilson(met, batches)
    return Batches(
        batches,
        met,
        low,
        high,
        tuple(sorted(found, key=lambda one: (-one.count, one.rule.head.id))),
        len(trial.numbers.spreads),
    )


def wilson(met: int, of: int) -> tuple[Fraction, Fraction]:
    """The 95 % interval of a part that was met so often, to four decimals."""
    part, square = met / of, NORMAL**2
    middle = (part + square / (2 * of)) / (1 + square / of)
    half = NORMAL * math.sqrt(part * (1 - part) / of + square / (4 * of * of)) / (1 + square / of)
    return (
        Fraction(math.floor(max(middle - half, 0.0) * 10_000), 10_000),
        Fraction(math.ceil(min(middle + half, 1.0) * 10_000), 10_000),
    )


class Trial:
    """A formula ready to be weighed out again and again. `rules` are the musts that concern it."""

    def __init__(self, request: Request, weighed: Sequence[Weighing]) -> None:
        self.request = request
        self.slots = [one.slot for one in weighed]
        self.grams = [(float(one.grams), [float(step) for step in one.steps]) for one in weighed]
        self.lines = [request.ingredients[slot.ingredient] for slot in self.slots]
        self.numbers = Numbers()
        total = sum((one.grams for one in weighed), Fraction(0))
        self._verdicts = {
            verdict.rule.head.id: verdict
            for verdict in judge(request, {one.slot: one.grams / total * 100 for one in weighed})
        }
        there = {slot.ingredient for slot in self.slots}
        self.rules: tuple[Rule, ...] = tuple(
            rule
            for rule in sorted(request.rules, key=lambda one: one.head.id)
            if rule.head.rank is None and not (isinstance(rule, UseRange) and rule.ingredient not in there)
        )
        self._tests = [self._test(rule) for rule in self.rules]

    def draw(self, dice: random.Random) -> tuple[list[float], list[float]]:
        """(shares in %, numbers) of one batch."""
        grams = [own + sum(s * (dice.random() - dice.random()) for s in steps) for own, steps in self.grams]
        total = sum(grams)
        return [100 * one / total for one in grams], self.numbers.draw(dice)

    def missed(self, shares: Sequence[float], values: Values) -> list[int]:
        """Places of the rules that do not hold."""
        return [at for at, test in enumerate(self._tests) if not test(shares, values)]

    def _sum(self, gram: Callable[[Ingredient], Gram], phase: str | None = None) -> Sum:
        return over_lines(
            [
                gram(one) if phase is None or slot.phase == phase else 0.0
                for slot, one in zip(self.slots, self.lines, strict=True)
            ]
        )

    def _of(self, selector: Selector, *, at_most: bool, phase: str | None = None) -> Sum:
        return self._sum(lambda one: of_selector(selector, one, self.numbers, at_most=at_most), phase)

    def _test(self, rule: Rule) -> Test:
        match rule:
            case Share():
                low, high = (self._of(rule.of, at_most=most, phase=rule.phase) for most in (False, True))
                return _within(low, high, rule.low, rule.high)
            case Level() | Mean() | FreeLiquid():
                return self._measured(rule)
            case Ratio():
                return self._ratio(rule)
            case Amount() | UseRange():
                own = self._sum(lambda one: float(one.id == rule.ingredient))
                return _within(own, own, rule.low, rule.high)
            case Legal():
                own = self._sum(lambda one: self._legal(rule, one))
                return _within(own, own, None, rule.maximum, strict=True)
            case Covers():
                return self._covers(rule)
            case Cost():
                own = self._sum(lambda one: float((one.price_per_kg or Fraction(0)) / 100))
                return _within(own, own, None, rule.high)
            case Needs():
                return self._needs(rule)
            case Stock():
                return self._stock(rule)
            case Acidity() | Thickness() | Reaches() | Forecast():
                return self._foretold(rule)
            case Response():
                return self._taught(rule)
            case Absent() | Newcomers() | LineCount() | Clash():
                return self._settled(rule)
            case _:
                assert_never(rule)

    def _settled(self, rule: Rule) -> Test:
        """No weighing and no number changes it."""
        met = self._verdicts[rule.head.id].met
        return lambda _shares, _values: met

    def _measured(self, rule: Level | Mean | FreeLiquid) -> Test:
        match rule:
            case Level():
                own = self._sum(lambda one: self._strength(one, rule.strength), rule.phase)
                return _within(own, own, rule.low, rule.high)
            case Mean():
                mean = self._sum(lambda one: added([self.numbers.figure(one, rule.figure)], [0.01]))
                return _within(mean, mean, rule.low, rule.high)
            case FreeLiquid():
                if not rule.predicted:
                    return self._settled(rule)
                left = self._sum(lambda one: self._left(one, oily=rule.oily))
                return _within(left, left, rule.low, rule.high)
            case _:
                assert_never(rule)

    def _strength(self, one: Ingredient, name: str) -> Gram:
        own = self.numbers.figure(one, name)
        if not name.startswith("least_dose_"):
            return own
        if not callable(own):
            return 1 / own if own else 0.0
        return lambda values: 1 / dose if (dose := own(values)) else 0.0

    def _left(self, one: Ingredient, *, oily: bool) -> Gram:
        liquid = liquid_of(one, oily)
        drunk = self.numbers.figure(one, "oil_uptake" if oily else "water_uptake")
        return added([float(liquid) if isinstance(liquid, Fraction) else 0.0, drunk], [1.0, -1.0])

    def _ratio(self, rule: Ratio) -> Test:
        top, top_low, bottom, bottom_high = (
            self._of(of, at_most=most, phase=rule.phase)
            for of, most in ((rule.top, True), (rule.top, False), (rule.bottom, False), (rule.bottom, True))
        )
        grace = _grace(top, top_low, bottom, bottom_high)
        low = None if rule.low is None else float(rule.low) * (1 - grace)
        high = None if rule.high is None else float(rule.high) * (1 + grace)

        def test(shares: Sequence[float], values: Values) -> bool:
            if high is not None and high * bottom(shares, values) - top(shares, values) < -NOISE:
                return False
            return low is None or top_low(shares, values) - low * bottom_high(shares, values) >= -NOISE

        return test

    def _legal(self, rule: Legal, one: Ingredient) -> Gram:
        factors = {name.lower(): float(factor) for name, factor in rule.members}
        parts = [part.substance.lower() for part in one.composition or ()]
        if one.inci.lower() in factors and one.inci.lower() not in parts:
            return factors[one.inci.lower()]
        held = [index for index, name in enumerate(parts) if name in factors]
        return added([self.numbers.part(one, i) for i in held], [factors[parts[i]] for i in held])

    def _covers(self, rule: Covers) -> Test:
        able = []
        for one in dict.fromkeys(one.id for one in self.lines):
            made = self.request.ingredients[one]
            dose = self.numbers.figure(made, f"least_dose_{rule.group}")
            if made.group != "preservative" or made.figure(f"least_dose_{rule.group}") is None:
                continue
            if made.figure("ph_works_max") is None and made.kind == "preservative-acid":
                continue
            own = self._sum(lambda line, name=one: float(line.id == name))  # type: ignore[misc]
            able.append((own, dose, self.numbers.figure(made, "ph_works_max", math.inf)))
        top = math.inf if rule.ph_top is None else float(rule.ph_top)

        def test(shares: Sequence[float], values: Values) -> bool:
            return any(
                own(shares, values) >= _value(dose, values) - NOISE
                and (_value(works, values) == math.inf or top <= _value(works, values))
                for own, dose, works in able
            )

        return test

    def _needs(self, rule: Needs) -> Test:
        asking, serving = self._of(rule.when, at_most=True), self._of(rule.needs, at_most=False)
        grace = _grace(asking, serving)
        above, least = float(rule.above) * (1 + grace), float(rule.at_least) * (1 - grace)
        return lambda shares, values: (
            asking(shares, values) <= above + NOISE or serving(shares, values) >= least - NOISE
        )

    def _stock(self, rule: Stock) -> Test:
        there = list(dict.fromkeys(one.id for one in self.lines))
        own = [self._sum(lambda line, name=name: float(line.id == name)) for name in there]  # type: ignore[misc]
        most = [float(rule.most.get(name, Fraction(0))) * (1 + ACCEPTED) for name in there]
        return lambda shares, values: all(
            one(shares, values) <= high + NOISE for one, high in zip(own, most, strict=True)
        )

    def _foretold(self, rule: Acidity | Thickness | Reaches | Forecast) -> Test:
        """The pH by its sign; thickness and free doses by the judge's own model at what was drawn."""
        verdict = self._verdicts[rule.head.id]
        if isinstance(rule, Acidity):
            window = Window(rule, self.lines, self.request, self.numbers) if rule.predicted else None
            if window is None or not window.known or verdict.margin is None:
                return self._settled(rule)
            return window.reached
        if isinstance(rule, Thickness) and not rule.predicted:
            return self._settled(rule)
        for one in self.lines:
            for name in one.figures:
                self.numbers.figure(one, name)
        middle = replace(rule, head=replace(rule.head, basis="character", surely=False))

        def test(shares: Sequence[float], values: Values) -> bool:
            made = {one.id: one for one in self.lines}
            lines = zip(self.slots, shares, strict=True)
            exact = sorted((slot, Fraction(round(share, PLACES))) for slot, share in lines)
            amounts = Amounts(tuple(exact), as_drawn(made, self.numbers, values))
            return verdict_on(middle, amounts, self.request).met

        return test

    def _taught(self, rule: Response) -> Test:
        """What was fitted, at what was drawn; a hair beside where the trials were is still there."""
        if not rule.predicted or self._verdicts[rule.head.id].value is None:
            return self._settled(rule)

        def test(shares: Sequence[float], _values: Values) -> bool:
            lines = zip(self.slots, shares, strict=True)
            exact = tuple(sorted((slot, Fraction(round(share, PLACES))) for slot, share in lines))
            told = taught(rule.fitted, Amounts(exact, self.request.ingredients))
            return told is not None and not (
                (rule.low is not None and told.value < rule.low)
                or (rule.high is not None and told.value > rule.high)
            )

        return test


def _value(gram: Gram, values: Values) -> float:
    return gram(values) if callable(gram) else gram


def _grace(*sums: Sum) -> float:
    return 0.0 if any(one.drawn for one in sums) else ACCEPTED


def _within(
    least: Sum, most: Sum, low: Fraction | None, high: Fraction | None, *, strict: bool = False
) -> Test:
    grace = 0.0 if strict else _grace(least, most)
    floor = -math.inf if low is None else float(low) * (1 - grace) - NOISE
    top = math.inf if high is None else float(high) * (1 + grace) + NOISE
    if least is most:
        return lambda shares, values: floor <= least(shares, values) <= top
    return lambda shares, values: least(shares, values) >= floor and most(shares, values) <= top
