"""Giving way ingredient by ingredient: one that was left out comes back, or one is bought."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.rules import Absent, Stock
from optimiser.domain.selector import AnyOf, Pick
from optimiser.explain.concession import Cure, given_up
from optimiser.explain.giving import (
    STEPS_OF_ALLOWING,
    STEPS_OF_ONE_MORE,
    Side,
    changed,
    outward,
)
from optimiser.explain.rest import Rest
from optimiser.explain.words import Tongue, asked_words, who
from optimiser.lp import names
from optimiser.lp.scope import binary
from optimiser.lp.weights import part_of
from optimiser.model.rows import Row, Var
from optimiser.requests.sentences import number
from optimiser.solver.interface import Outcome

MOST_WAYS = 3
MOST_TOGETHER = 2
ONE, HUNDRED = Fraction(1), Fraction(100)
NEW_TO_THE_SHELF = Fraction(1, 10)
"""More of what is there is bought before something new."""
LITTLE = Fraction(1, 10**4)
"""What a per cent counts beside a whole ingredient: fewest ingredients first, then least of them."""
AVOIDED = "Only if nobody it is made for has to avoid that."


def allowed_again(rest: Rest, rule: Absent, tongue: Tongue) -> list[Cure]:
    """The fewest ingredients that have to come back, each set with its least amounts; else the whole rule."""
    request = rest.request
    out = [i for i in sorted({s.ingredient for s in request.slots}) if _leaves_out(rule, i, rest)]
    found: list[Cure] = []
    barred: list[frozenset[str]] = []
    size = MOST_TOGETHER
    while len(found) < MOST_WAYS:
        back = _fewest_back(rest, rule, out, barred)
        if not back or len(back) > size:
            break
        size = len(back)
        barred.append(frozenset(back))
        surely = _fewest_back(rest.strict, rule, out, (), only=back)
        found.append(_back_again(rest, rule, out, surely or back, tongue))
    return found or given_up(rest, rule)


def _leaves_out(rule: Absent, ingredient: str, rest: Rest) -> bool:
    return bool(part_of(rule.of, rest.request.ingredients[ingredient], "high"))


def _fewest_back(
    rest: Rest,
    rule: Absent,
    out: Sequence[str],
    barred: Sequence[frozenset[str]],
    only: Collection[str] | None = None,
) -> dict[str, Fraction]:
    """Ingredient to its share, % w/w; empty where nothing helps. `only`: nothing else may come back."""
    cuts = [
        Row(f"barred:{n}", tuple((names.used(i), ONE) for i in sorted(these)), None, Fraction(len(these) - 1))
        for n, these in enumerate(barred)
    ]
    if only is not None:
        never = tuple((names.used(i), ONE) for i in out if i not in only)
        cuts.append(Row("never", never, None, Fraction(0)))
    cost = {names.used(i): ONE for i in out}
    cost |= {names.share(s): LITTLE for s in rest.request.slots if s.ingredient in set(out)}
    answer = rest.solved(rest.with_rows((), cuts, (rule.head.id,)).with_cost(cost, "min"))
    if answer.outcome is not Outcome.OPTIMAL:
        return {}
    found: dict[str, Fraction] = {}
    for slot in rest.request.slots:
        if slot.ingredient in set(out) and answer.values[names.used(slot.ingredient)] > 0.5:
            share = Fraction(repr(max(answer.values[names.share(slot)], 0.0)))
            found[slot.ingredient] = found.get(slot.ingredient, Fraction(0)) + share
    return found


def _back_again(
    rest: Rest, rule: Absent, out: Sequence[str], back: dict[str, Fraction], tongue: Tongue
) -> Cure:
    still = AnyOf(tuple(Pick("ingredient", name) for name in out if name not in back))
    least = Side("high", Fraction(0), HUNDRED)
    told = " and ".join(
        f"{tongue.named(name)} (at least {number(outward(share, least))} %)"
        for name, share in sorted(back.items())
    )
    asked = asked_words(rule, tongue)
    sentence = f"{who(rule)} {asked}; allow {told} again, and the rest holds."
    if any(pick.field == "flag" for pick in (rule.of.picks if isinstance(rule.of, AnyOf) else (rule.of,))):
        sentence += f" {AVOIDED}"
    head = replace(rule.head, sentence=f"{rule.head.sentence.rstrip('.')}, but for {told} (a concession).")
    new = replace(rule, of=still, head=head)
    steps = STEPS_OF_ALLOWING * len(back)
    return Cure(
        rule,
        rule.head.sentence,
        f"allow {told}",
        sentence,
        steps,
        changed(rest.request, rule, new),
        None,
        back=tuple(sorted(back)),
    )


def bought(rest: Rest, rule: Stock, tongue: Tongue) -> list[Cure]:
    """The fewest ingredients to buy, each set with the grams a batch takes beyond the shelf."""
    found: list[Cure] = []
    barred: list[frozenset[str]] = []
    size = MOST_TOGETHER
    while len(found) < MOST_WAYS:
        lacking = _least_to_buy(rest, rule, barred)
        if not lacking:
            break
        if len(lacking) > size and found:
            break
        size = len(lacking)
        barred.append(frozenset(lacking))
        found.append(_buying(rest, rule, lacking, tongue, 0))
    return found or given_up(rest, rule)


def _least_to_buy(rest: Rest, rule: Stock, barred: Sequence[frozenset[str]]) -> dict[str, Fraction]:
    """Ingredient to what is missing of it, % of the batch; empty where nothing helps."""
    variables: list[Var] = []
    rows: list[Row] = []
    cost: dict[str, Fraction] = {}
    for name in sorted({s.ingredient for s in rest.request.slots}):
        more, flag = f"buy:{name}", f"buys:{name}"
        variables += [Var(more, Fraction(0), HUNDRED), binary(flag)]
        share = tuple((names.share(s), ONE) for s in rest.request.slots if s.ingredient == name)
        most = rule.most.get(name, Fraction(0))
        rows.append(Row(f"shelf:{name}", (*share, (more, -ONE)), None, most))
        rows.append(Row(f"bought:{name}", ((more, ONE), (flag, -HUNDRED)), None, Fraction(0)))
        cost |= {more: LITTLE, flag: ONE if most else ONE + NEW_TO_THE_SHELF}
    for n, these in enumerate(barred):
        coef = tuple((f"buys:{i}", ONE) for i in sorted(these))
        rows.append(Row(f"barred:{n}", coef, None, Fraction(len(these) - 1)))
    answer = rest.solved(rest.with_rows(variables, rows, (rule.head.id,)).with_cost(cost, "min"))
    if answer.outcome is not Outcome.OPTIMAL:
        return {}
    bought_now = {
        v.name.removeprefix("buy:"): Fraction(repr(max(answer.values[v.name], 0.0)))
        for v in variables
        if v.name.startswith("buy:")
    }
    return {name: share for name, share in bought_now.items() if share > Fraction(1, 10**6)}


def _buying(rest: Rest, rule: Stock, lacking: dict[str, Fraction], tongue: Tongue, easing: int) -> Cure:
    """Grams rounded up to tenths, and a little more each time the grid asks for it."""
    batch = rest.request.batch_g
    grams = {
        name: Fraction(math.ceil(share * batch / 10 - Fraction(1, 10**4)) + 2**easing - 1, 10)
        for name, share in sorted(lacking.items())
    }
    told = []
    for name, missing in grams.items():
        there = rule.most.get(name, Fraction(0)) > 0
        told.append(f"{number(missing)} g{' more' if there else ' of'} {tongue.named(name)}")
    words = f"buy {' and '.join(told)}"
    most = {**rule.most}
    for name, missing in grams.items():
        most[name] = most.get(name, Fraction(0)) + missing / batch * 100
    head = replace(rule.head, sentence=f"{rule.head.sentence.rstrip('.')}, and {words} (a concession).")
    sentence = f"{words[:1].upper()}{words[1:]} for the batch of {number(batch)} g, and the rest holds."
    return Cure(
        rule,
        rule.head.sentence,
        words,
        sentence,
        STEPS_OF_ONE_MORE * len(grams),
        changed(rest.request, rule, replace(rule, most=most, head=head)),
        None if easing else (lambda times: _buying(rest, rule, lacking, tongue, times)),
        outside=any(not rule.most.get(name) for name in grams),
        back=tuple(grams),
    )
