"""The room a brief leaves a formula: the mixture region of the lines that vary, all other lines kept.

Every row of the linear model is written with the whole-number choices of the formula; rules that are not
straight lines are written at the formula itself. What cannot be written so is left to the judge, who looks
at every point.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.acidity import strength_of
from optimiser.checks.judge import broken, judge
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import GRID, Request, Slot
from optimiser.errors import OptimiserError
from optimiser.lp import names
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.model.rows import Row as ModelRow
from optimiser.search.stages import predicted
from optimiser.solver.interface import Limits
from optimiser.solver.solving import solve
from optimiser.statistics.region import Corners, Region, Row, candidates, corners

ZERO, ONE = Fraction(0), Fraction(1)
Shares = Mapping[Slot, Fraction]
Named = tuple[str, tuple[Fraction, ...]]
"""What a point is, and the point."""
PULLS = (ZERO, Fraction(1, 100), Fraction(1, 20), Fraction(1, 10), Fraction(1, 4))
"""How far a point is drawn towards the formula, as a part of the way, before it is given up."""
MOST_POINTS = 64
"""Candidates that are judged; of more, those farthest from each other, half of them corners."""


@dataclass(frozen=True, slots=True)
class Vary:
    """A line that varies, between limits of the maker's own (% w/w) where there are some."""

    slot: Slot
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Room:
    """`slots` are the lines that vary, the filler last; shares of the region are % w/w of the formula.

    `by_judge` are sentences of the rules that no straight row stands for here.
    """

    request: Request
    shares: Shares
    slots: tuple[Slot, ...]
    corners: Corners
    by_judge: tuple[str, ...] = ()

    @property
    def total(self) -> Fraction:
        return self.corners.region.total


@dataclass(frozen=True, slots=True)
class Spot:
    """A point that the judge passed: `shares` of the whole formula on the grid; `drawn` is the part of the
    way it was drawn towards the formula for that."""

    what: str
    point: tuple[Fraction, ...]
    shares: Shares
    drawn: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Refused:
    """A point that no drawing in made good, and the rule that it breaks."""

    what: str
    point: tuple[Fraction, ...]
    verdict: Verdict


class Rows:
    """The rows of the request at one formula, to be cut down to the lines that vary."""

    def __init__(self, request: Request, shares: Shares, limits: Limits) -> None:
        self.request, self.shares = request, shares
        grams: dict[str, Fraction] = {}
        for slot, share in shares.items():
            grams[slot.ingredient] = grams.get(slot.ingredient, ZERO) + share
        strength = strength_of(request, {slot: float(share) for slot, share in shares.items()})
        incumbent = Incumbent(grams, strength)
        wishes = {rule.head.id for rule in request.rules if rule.head.rank is not None}
        left = {rule.head.id for rule in request.rules if predicted(rule)}
        held = self._held(build(request, without=wishes, incumbent=incumbent, spelled_out=True), limits)
        self.apart: set[str] = set()
        if held is None:
            straight = build(request, without=wishes | left, spelled_out=True)
            held, self.apart = self._held(straight, limits), left - wishes
        if held is None:
            raise OptimiserError(
                "the rules of the brief do not hold as straight lines at this formula",
                "start from a proposal: optimiser propose … --save",
            )
        self.model, self.values = held

    def _held(self, model: Model, limits: Limits) -> tuple[Model, dict[str, Fraction]] | None:
        """The model and its whole numbers at the formula; None where its rows do not allow the formula."""
        at = {names.share(slot): self.shares.get(slot, ZERO) for slot in self.request.slots}
        answer = solve(model.with_bounds({name: (v, v) for name, v in at.items()}), limits=limits)
        if answer.objective is None:
            return None
        return model, at | {name: Fraction(round(answer.values[name])) for name in model.whole}

    def over(self, vary: Sequence[Vary]) -> tuple[Region, tuple[str, ...]]:
        """The region of these lines and the filler, and sentences of rules that have no row in it."""
        slots = [*(one.slot for one in vary), self.request.filler]
        total = sum((self.shares.get(slot, ZERO) for slot in slots), ZERO)
        lows = [max(ZERO, one.low or ZERO) for one in vary] + [ZERO]
        highs = [total if one.high is None else min(total, one.high) for one in vary] + [total]
        free = [names.share(slot) for slot in slots]
        rows, apart = [], set(self.apart)
        for row in self.model.rows:
            if not any(name in free for name, _ in row.coef):
                continue
            if any(name not in free and name not in self.values for name, _ in row.coef):
                apart.add(row.rule)
                continue
            rows += self._cut(row, free, lows, highs)
        labels = tuple(self.request.ingredients[slot.ingredient].name for slot in slots)
        sentences = [rule.head.sentence for rule in self.request.rules if rule.head.id in apart]
        return Region(labels, tuple(lows), tuple(highs), tuple(rows), total), tuple(sentences)

    def _cut(self, row: ModelRow, free: list[str], lows: list[Fraction], highs: list[Fraction]) -> list[Row]:
        """The row over the free shares; nothing where limits of the lines make it hold by themselves."""
        by = dict(row.coef)
        coefs = tuple(by.get(name, ZERO) for name in free)
        rest = sum((v * self.values[name] for name, v in row.coef if name not in free), ZERO)
        if row.rule == "physics" and row.lower == row.upper:
            return []
        least = sum(
            (c * (low if c > 0 else high) for c, low, high in zip(coefs, lows, highs, strict=True)), ZERO
        )
        most = sum(
            (c * (high if c > 0 else low) for c, low, high in zip(coefs, lows, highs, strict=True)), ZERO
        )
        low = None if row.lower is None or row.lower - rest <= least else row.lower - rest
        high = None if row.upper is None or row.upper - rest >= most else row.upper - rest
        return [] if low is None and high is None else [Row(coefs, low, high, _words(row))]


def _words(row: ModelRow) -> str:
    if row.sentence:
        return row.sentence
    return "A line that is there is at least a trace." if ":no-trace:" in row.name else row.name


def room(request: Request, shares: Shares, vary: Sequence[Vary], limits: Limits) -> Room:
    """The region of the lines in `vary` and the filler around the formula `shares`.

    Raises OptimiserError where the rules do not hold as straight lines at the formula.
    """
    region, apart = Rows(request, shares, limits).over(vary)
    return Room(request, shares, (*(one.slot for one in vary), request.filler), corners(region), apart)


def widest(request: Request, shares: Shares, limits: Limits) -> tuple[tuple[Slot, Fraction], ...]:
    """Lines that can be traded for the filler alone, with how far each can move in points, widest first."""
    rows = Rows(request, shares, limits)
    found = []
    for slot in may_vary(request, shares):
        region, _ = rows.over([Vary(slot)])
        ends = corners(region)
        if not ends.empty:
            low, high = ends.span(0)
            found.append((slot, high - low))
    return tuple(sorted(found, key=lambda one: (-one[1], one[0])))


def may_vary(request: Request, shares: Shares) -> tuple[Slot, ...]:
    """Lines that are there, without the filler and lines dosed to a reading."""
    kept = {request.filler, *request.fixed, *request.dosed}
    return tuple(slot for slot in request.slots if shares.get(slot) and slot not in kept)


def spots(of: Room) -> tuple[tuple[Spot, ...], tuple[Refused, ...]]:
    """Candidates on the grid that the judge passes, and those it does not; the formula itself first.

    A point that fails is drawn towards the formula, which passes.
    """
    home = tuple(of.shares.get(slot, ZERO) for slot in of.slots)
    good: dict[tuple[Fraction, ...], Spot] = {home: Spot("the formula itself", home, dict(of.shares))}
    bad: list[Refused] = []
    for what, point in _thinned(candidates(of.corners)):
        tried: Verdict | None = None
        for pull in PULLS:
            near = tuple(p + pull * (h - p) for p, h in zip(point, home, strict=True))
            shares = _stepped(of, near, home)
            failed = broken(judge(of.request, shares))
            if not failed:
                place = tuple(shares.get(slot, ZERO) for slot in of.slots)
                good.setdefault(place, Spot(what, place, shares, pull))
                break
            tried = tried or failed[0]
        else:
            if tried is not None:
                bad.append(Refused(what, point, tried))
    return tuple(good.values()), tuple(bad)


def _thinned(found: Sequence[Named]) -> list[Named]:
    if len(found) <= MOST_POINTS:
        return list(found)
    ends = [one for one in found if one[0] == "corner"]
    some = far_apart(ends, MOST_POINTS // 2)
    return [*some, *far_apart([one for one in found if one[0] != "corner"], MOST_POINTS - len(some))]


def far_apart(found: Sequence[Named], count: int) -> list[Named]:
    """The first, then again and again the one farthest from all chosen; each line counts by its own span."""
    columns = list(zip(*(point for _, point in found), strict=True))
    spans = [float(max(column) - min(column)) or 1.0 for column in columns]
    spots = [[float(v) / span for v, span in zip(point, spans, strict=True)] for _, point in found]
    chosen = [0] if found else []
    near = [math.dist(spots[0], spot) for spot in spots]
    while len(chosen) < min(count, len(found)):
        chosen.append(max(range(len(spots)), key=lambda i: (near[i], -i)))
        near = [min(old, math.dist(spots[chosen[-1]], spot)) for old, spot in zip(near, spots, strict=True)]
    return [found[i] for i in sorted(chosen)]


def _stepped(of: Room, point: Sequence[Fraction], home: Sequence[Fraction]) -> dict[Slot, Fraction]:
    """The whole formula with the lines at the point in whole steps; the filler takes the rest.

    Of the steps around the point the nearest that lie in the room; rounded towards the formula where none do.
    """
    downs = [(value / GRID) // 1 * GRID for value in point[:-1]]
    ups = [-(-(value / GRID) // 1) * GRID for value in point[:-1]]
    inside = []
    for some in itertools.product(*zip(downs, ups, strict=True)):
        place = (*some, of.total - sum(some, ZERO))
        if of.corners.region.holds(place):
            far = sum((abs(x - y) for x, y in zip(place, point, strict=True)), ZERO)
            inside.append((far, place))
    if inside:
        chosen = min(inside)[1]
    else:
        pairs = zip(downs, ups, point, home, strict=False)
        some = tuple(up if value < own else down for down, up, value, own in pairs)
        chosen = (*some, of.total - sum(some, ZERO))
    out = dict(of.shares) | dict(zip(of.slots, chosen, strict=True))
    return {slot: share for slot, share in out.items() if share}
