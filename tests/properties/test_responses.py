"""Fitted responses: rows say what the judge says, bent ones where they were written, straight ones ever."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import judge
from optimiser.checks.responses import taught, taught_at
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import GRID, Slot
from optimiser.domain.response import Setting
from optimiser.domain.rules import Response
from optimiser.lp.build import build
from tests.effort import tries
from tests.small import FORMULA, INGREDIENTS
from tests.taught import BENT, STRAIGHT, fitted, rule, taught_mask

F = Fraction
SOME = tries(40)
SLOTS = {line.ingredient: Slot(line.ingredient, phase) for phase, line in FORMULA.lines}
TERMS = {"straight": STRAIGHT, "bent": BENT}
LOWS = st.sampled_from([("0", "0", "0"), ("0.1", "0.02", "0.7")])
PARTS = st.sampled_from(["0.9", "0.999", "1.001", "1.1"]).map(F)


@st.composite
def points(draw: st.DrawFn) -> dict[Slot, Fraction]:
    """Masks where the trials were, in whole steps."""
    kaolin, glycerin = draw(st.integers(10000, 20000)) * GRID, draw(st.integers(2000, 7000)) * GRID
    rest = {"benzoate": F("0.45"), "bentonite": F("6"), "sorbate": F("0.35"), "xanthan": F("0.4")}
    shares = {"kaolin": kaolin, "glycerin": glycerin, **rest}
    shares["water"] = 100 - sum(shares.values(), F(0))
    return {SLOTS[name]: share for name, share in shares.items()}


def value(one: Response, shares: dict[Slot, Fraction]) -> Fraction:
    told = taught(one.fitted, Amounts(tuple(sorted(shares.items())), INGREDIENTS))
    assert told is not None
    return told.value


def held(one: Response, shares: dict[Slot, Fraction], at: dict[Slot, Fraction]) -> bool:
    """Whether the rule's rows, written at `at`, let the point pass."""
    incumbent = Incumbent({slot.ingredient: share for slot, share in at.items()})
    values = {f"x:{slot}": share for slot, share in shares.items()}
    rows = [row for row in build(taught_mask(one), incumbent=incumbent).rows if row.rule == one.head.id]
    assert rows
    sums = [(row, sum((c * values.get(n, F(0)) for n, c in row.coef), F(0))) for row in rows]
    return all(
        (row.lower is None or total >= row.lower) and (row.upper is None or total <= row.upper)
        for row, total in sums
    )


def met(one: Response, shares: dict[Slot, Fraction]) -> bool:
    return next(v.met for v in judge(taught_mask(one), shares) if v.rule is one)


@SOME
@given(st.sampled_from(sorted(TERMS)), LOWS, points(), PARTS, st.booleans())
def test_rows_written_at_a_point_say_there_what_the_judge_says(
    kind: str, lows: tuple[str, ...], shares: dict[Slot, Fraction], part: Fraction, floor: bool
) -> None:
    of = fitted(TERMS[kind], lows=lows)
    limit = str(round(value(rule(of, "1"), shares) * part, 6))
    one = rule(of, limit) if floor else rule(of, None, limit)
    assert met(one, shares) is held(one, shares, shares) is ((part <= 1) is floor)


@SOME
@given(LOWS, points(), points(), PARTS)
def test_straight_rows_say_it_wherever_they_were_written(
    lows: tuple[str, ...], shares: dict[Slot, Fraction], other: dict[Slot, Fraction], part: Fraction
) -> None:
    of = fitted(lows=lows)
    one = rule(of, str(round(value(rule(of, "1"), shares) * part, 6)))
    assert met(one, shares) is held(one, shares, other)


@SOME
@given(st.sampled_from(sorted(TERMS)), points(), st.sampled_from([F("-0.01"), F("0.01")]))
def test_surely_holds_a_jars_error_away_in_rows_and_judge(
    kind: str, shares: dict[Slot, Fraction], by: Fraction
) -> None:
    of = fitted(TERMS[kind])
    told = taught(of, Amounts(tuple(sorted(shares.items())), INGREDIENTS))
    assert told is not None
    one = rule(of, str(round(told.value - told.reach(of) + by, 6)), surely=True)
    assert met(one, shares) is held(one, shares, shares) is (by < 0)


@SOME
@given(points(), points())
def test_the_error_is_never_less_than_its_tangent(
    shares: dict[Slot, Fraction], other: dict[Slot, Fraction]
) -> None:
    """With a straight model the surely-rows cut off nothing that the judge lets pass."""
    of = fitted()
    told = taught(of, Amounts(tuple(sorted(shares.items())), INGREDIENTS))
    assert told is not None
    one = rule(of, str(round(told.value - told.reach(of) - F("0.001"), 6)), surely=True)
    assert met(one, shares)
    assert held(one, shares, other)


@pytest.mark.parametrize("strange", ["illite", "konjac"])
def test_what_no_trial_had_is_never_predicted(strange: str) -> None:
    shares = {SLOTS[line.ingredient]: line.percent for _, line in FORMULA.lines}
    one = rule(fitted(), "0")
    assert met(one, shares)
    moved = {**shares, SLOTS["water"]: shares[SLOTS["water"]] - 1, Slot(strange, "B"): F(1)}
    assert not met(one, moved)


SPEED, HEAT = Setting("stirring", "rpm", F(400), F(1200)), Setting("heated-to", "C", F(60), F(80))


@SOME
@given(
    points(),
    st.integers(400, 1200).map(F),
    st.integers(60, 80).map(F),
    st.lists(st.integers(-50, 50).map(lambda n: F(n, 10)), min_size=11, max_size=11),
    LOWS,
)
def test_a_response_at_stated_settings_is_its_terms_multiplied_out(
    shares: dict[Slot, Fraction], speed: Fraction, heat: Fraction, by: list[Fraction], lows: tuple[str, ...]
) -> None:
    """Value and error, settings counted from -1 to 1, reckoned term by term."""
    names = ("kaolin", "glycerin", "water")
    pairs = [("kaolin", "glycerin"), ("heated-to",)]
    terms = [
        *((n,) for n in names),
        *pairs,
        *((n, "stirring") for n in names),
        *((n, "heated-to") for n in names),
    ]
    terms = list(dict.fromkeys(terms))
    plain = fitted(dict.fromkeys(terms, "0"), lows=lows)
    size = range(len(terms))
    lean = tuple(tuple(by[i] * by[j] / 100 + (i == j) for j in size) for i in size)
    of = replace(plain, coefficients=tuple(by[: len(terms)]), covariance=lean, settings=(SPEED, HEAT))
    own = {slot.ingredient: share for slot, share in shares.items() if slot.ingredient in names}
    whole, room = sum(own.values(), F(0)), 1 - sum(map(F, lows), F(0))
    at = {name: (own[name] / whole - F(low)) / room for name, low in zip(names, lows, strict=True)}
    at |= {"stirring": (speed - 800) / 400, "heated-to": (heat - 70) / 10}
    row = [math.prod((at[name] for name in term), start=F(1)) for term in terms]
    told = taught_at(of.made_so({"stirring": speed, "heated-to": heat}), own)
    assert told is not None
    assert told.value == sum((b * x for b, x in zip(of.coefficients, row, strict=True)), F(0))
    assert told.variance - of.deviation**2 == sum(
        (lean[i][j] * row[i] * row[j] for i in size for j in size), F(0)
    )
