"""The least giving-way that makes an impossible request possible."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.outcome import Concession, Proposal
from optimiser.domain.request import Request
from optimiser.domain.rules import (
    Absent,
    Amount,
    Cost,
    FreeLiquid,
    Level,
    LineCount,
    Mean,
    Newcomers,
    Ratio,
    Rule,
    Share,
    Stock,
    Thickness,
    UseRange,
)
from optimiser.lp.aims import step_of
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.requests.sentences import number
from optimiser.search.propose import search
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.pulp_backend import solve

Sided = Share | Level | Mean | Amount | Ratio | Thickness | FreeLiquid
ZERO, ONE = Fraction(0), Fraction(1)
NEVER = ("law", "physics", "safety")
STEPS_OF_ONE_MORE, STEPS_OF_GIVING_UP = Fraction(10), Fraction(100)


@dataclass(frozen=True, slots=True)
class _Cure:
    """A rule with its new limit (None: given up), in words, and how many of its own steps that is."""

    rule: Rule
    new: Rule | None
    asked: str
    enough: str
    steps: Fraction


def concessions(request: Request, members: tuple[Rule, ...], limits: Limits) -> tuple[Concession, ...]:
    """Single concessions among the conflict's members, smallest first; the first with its formula.

    Law, safety and physics are never offered. A step is 1 % of the limit asked; another ingredient counts
    as ten steps, giving a rule up as a hundred.
    """
    cures = [
        cure for rule in members if rule.head.basis not in NEVER for cure in _cures(request, rule, limits)
    ]
    cures.sort(key=lambda c: (c.steps, c.rule.head.id))
    found: list[Concession] = []
    for cure in cures:
        settled, proposal = cure, None
        if not any(c.proposal for c in found):
            settled, proposal = _with_formula(request, cure, limits)
            if proposal is None:
                continue
        found.append(_worded(settled, proposal))
    return tuple(found)


def label(rule: Rule) -> str:
    """What a rule is called in a sentence: what its own sentence begins with."""
    if isinstance(rule, Newcomers):
        return "New ingredients"
    if isinstance(rule, LineCount):
        return "Ingredients in all"
    return rule.head.sentence.partition(":")[0]


def _worded(cure: _Cure, proposal: Proposal | None) -> Concession:
    what = cure.rule.head.sentence.rstrip(".")
    if cure.new is None:
        sentence = f"Give up: {what}."
    else:
        sentence = (
            f"{label(cure.rule)}: you ask {cure.asked}; with the rest as it is, {cure.enough} would do."
        )
    return Concession(cure.rule, cure.asked, cure.enough, sentence, cure.steps, proposal)


def _with_formula(request: Request, cure: _Cure, limits: Limits) -> tuple[_Cure, Proposal | None]:
    """The formula under the concession; a limit that only just fails on the grid is eased a little more."""
    for easing in range(4):
        eased = _eased(cure, easing)
        rules = tuple(
            r if r.head.id != cure.rule.head.id else eased.new
            for r in request.rules
            if r.head.id != cure.rule.head.id or eased.new is not None
        )
        answer = search(replace(request, rules=tuple(r for r in rules if r is not None)), limits=limits)
        if answer.proposals:
            return eased, replace(answer.proposals[0], heading="With this concession")
        if cure.new is None:
            break
    return cure, None


def _eased(cure: _Cure, times: int) -> _Cure:
    if cure.new is None or times == 0:
        return cure
    old, new = cure.rule, cure.new
    by = _unit(_limit_of(new) or ZERO) * (2**times - 1)
    if isinstance(new, Sided) and isinstance(old, Sided):
        low = max(new.low - by, ZERO) if new.low is not None and new.low != old.low else new.low
        high = new.high + by if new.high is not None and new.high != old.high else new.high
        return _renewed(old, replace(new, low=low, high=high))
    if isinstance(new, Cost):
        return _renewed(old, replace(new, high=new.high + by))
    return cure


def _limit_of(rule: Rule) -> Fraction | None:
    if isinstance(rule, Sided):
        return rule.low if rule.low is not None else rule.high
    return rule.high if isinstance(rule, Cost) else None


def _cures(request: Request, rule: Rule, limits: Limits) -> list[_Cure]:
    match rule:
        case Share() | Level() | Mean() | Amount() | FreeLiquid() | Cost() | Newcomers() | LineCount():
            return _by_slack(request, rule, limits)
        case Ratio() | Thickness():
            return _by_trying(request, rule, limits)
        case Absent() | UseRange() | Stock():
            return _given_up(request, rule, limits)
        case _:
            return []


def _by_slack(request: Request, rule: Rule, limits: Limits) -> list[_Cure]:
    """Least miss of the rule's own limit with all the rest as it is."""
    model = _musts(request, elastic=rule.head.id)
    slacks = {v.name: Fraction(1) for v in model.vars if v.name.startswith(f"w:{rule.head.id}:")}
    answer = solve(model.with_cost(slacks), limits=limits)
    if answer.outcome is not Outcome.OPTIMAL:
        return []
    new = moved_limits(rule, answer.values)
    return [_renewed(rule, new)] if new != rule else []


def moved_limits(rule: Rule, values: Mapping[str, float]) -> Rule:
    """The rule with its limits moved by what its slacks came to, rounded outward."""
    low = values.get(f"w:{rule.head.id}:least", 0.0)
    high = values.get(f"w:{rule.head.id}:most", 0.0)
    noise = 1e-6 * max(low, high)
    return _moved(rule, *(Fraction(repr(by if by > noise else 0.0)) for by in (low, high)))


def eased(old: Rule, new: Rule, times: int) -> Rule:
    """Moved limits eased a little more, worded as a concession."""
    return _eased(_renewed(old, new), times).new or new


def _musts(request: Request, *, elastic: str = "", without: str = "") -> Model:
    wishes = {r.head.id for r in request.rules if r.head.rank is not None}
    return build(
        request, without=wishes | ({without} if without else set()), elastic={elastic} if elastic else ()
    )


def _moved(rule: Rule, low_by: Fraction, high_by: Fraction) -> Rule:
    if isinstance(rule, Share | Level | Mean | Amount | FreeLiquid):
        low = rule.low if rule.low is None or not low_by else _outward(rule.low - low_by, down=True)
        high = rule.high if rule.high is None or not high_by else _outward(rule.high + high_by, down=False)
        return replace(rule, low=low, high=high)
    if isinstance(rule, Cost):
        return replace(rule, high=_outward(rule.high + high_by, down=False))
    if isinstance(rule, Newcomers | LineCount):
        return replace(rule, at_most=rule.at_most + math.ceil(high_by - Fraction(1, 10**6)))
    return rule


def _unit(value: Fraction) -> Fraction:
    """Step of a shown limit: two decimals from 1 up, four below."""
    return Fraction(1, 100) if abs(value) >= 1 else Fraction(1, 10000)


def _outward(value: Fraction, *, down: bool) -> Fraction:
    unit = _unit(value)
    nudge = Fraction(1, 10**4) * unit
    steps = math.floor((value + nudge) / unit) if down else math.ceil((value - nudge) / unit)
    return max(steps * unit, ZERO)


def _renewed(old: Rule, new: Rule) -> _Cure:
    if isinstance(old, Sided) and isinstance(new, Sided):
        steps, asked, enough = ZERO, [], []
        for before, after, word in ((old.low, new.low, "at least"), (old.high, new.high, "at most")):
            if before is not None and after is not None and before != after:
                steps += abs(after - before) / step_of(old)
                asked.append(f"{word} {number(before)}{_tail(old)}")
                enough.append(f"{word} {number(after)}{_tail(old)}")
        return _Cure(old, _reworded(old, new, enough), " and ".join(asked), " and ".join(enough), steps)
    if isinstance(old, Cost) and isinstance(new, Cost):
        enough = [f"at most {number(new.high)} per kg"]
        steps = abs(new.high - old.high) / (old.high / 100 if old.high else 1)
        return _Cure(old, _reworded(old, new, enough), f"at most {number(old.high)} per kg", enough[0], steps)
    if isinstance(old, Newcomers | LineCount) and isinstance(new, Newcomers | LineCount):
        more = [f"at most {new.at_most}"]
        steps = STEPS_OF_ONE_MORE * (new.at_most - old.at_most)
        return _Cure(old, _reworded(old, new, more), f"at most {old.at_most}", more[0], steps)
    return _Cure(old, new, "", "", STEPS_OF_GIVING_UP)


def _tail(rule: Rule) -> str:
    if isinstance(rule, Thickness):
        return " Pa.s"
    return "" if isinstance(rule, Ratio | Level | Mean) else " %"


def _reworded(old: Rule, new: Rule, enough: list[str]) -> Rule:
    sentence = f"{label(old)}: {' and '.join(enough)} (a concession)."
    return replace(new, head=replace(new.head, sentence=sentence))


def _by_trying(request: Request, rule: Ratio | Thickness, limits: Limits) -> list[_Cure]:
    """The limit stands in a coefficient: each side is tried at limits as they would be shown."""
    others = _musts(request, without=rule.head.id)

    def works(candidate: Ratio | Thickness) -> bool:
        alone = build(replace(request, rules=(candidate,)))
        own = (row for row in alone.rows if row.rule == rule.head.id)
        return solve(others.with_rows(own), limits=limits).outcome is Outcome.OPTIMAL

    cures = []
    if rule.high is not None:
        far = max(rule.high * 1024, Fraction(1024))
        enough = _nearest(rule.high, far, lambda limit: works(replace(rule, high=limit)))
        cures += [] if enough is None else [_renewed(rule, replace(rule, high=enough))]
    if rule.low is not None:
        enough = _nearest(rule.low, ZERO, lambda limit: works(replace(rule, low=limit)))
        cures += [] if enough is None else [_renewed(rule, replace(rule, low=enough))]
    return cures


def _nearest(asked: Fraction, far: Fraction, works: Callable[[Fraction], bool]) -> Fraction | None:
    """The limit nearest to the one asked that works, in steps as they are shown; None where none does."""
    if asked == far or not works(far):
        return None
    if min(asked, far) < 1 < max(asked, far):
        asked, far = (asked, ONE) if works(ONE) else (ONE, far)
    unit = _unit(min(asked, far)) if max(asked, far) > 1 else _unit(ZERO)
    up = far > asked
    bad = math.floor(asked / unit) if up else math.ceil(asked / unit)
    good = math.ceil(far / unit) if up else math.floor(far / unit)
    while abs(good - bad) > 1:
        middle = (bad + good) // 2
        bad, good = (bad, middle) if works(middle * unit) else (middle, good)
    return good * unit


def _given_up(request: Request, rule: Rule, limits: Limits) -> list[_Cure]:
    """A rule without a limit to move: does the rest hold without it?"""
    answer = solve(_musts(request, without=rule.head.id), limits=limits)
    return (
        [_Cure(rule, None, rule.head.sentence, "without it", STEPS_OF_GIVING_UP)]
        if answer.outcome is Outcome.OPTIMAL
        else []
    )
