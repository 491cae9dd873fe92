"""Random small requests: rows and judge agree, and answers are what they claim to be."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from optimiser.checks import measures
from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken, judge
from optimiser.domain.brief import Aim
from optimiser.domain.ingredient import Ingredient, Pack
from optimiser.domain.request import GRID, Pull, Request, Slot
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Basis,
    Clash,
    Cost,
    Covers,
    Head,
    Legal,
    Level,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Ratio,
    Rule,
    Share,
    Stock,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Pick, Selector
from optimiser.explain.conflict import find_conflict, hard_model
from optimiser.search.propose import search
from optimiser.search.telling import departure
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve
from tests.effort import tries
from tests.points import FREE, clays, kept, only, wide
from tests.small import INGREDIENTS, fr, head, ranges, request

TOLERANCE = Fraction(1, 10**5)
ALL = sorted({**INGREDIENTS, **FREE})
SLOW = tries(50)
PICKS = (
    *(Pick("group", g) for g in ("clay", "gum", "polyol", "preservative")),
    *(Pick("kind", k) for k in ("clay", "clay-plain", "preservative-acid", "wax")),
    *(Pick("role", r) for r in ("absorbent", "viscosity-controlling", "acid-adjuster")),
    *(Pick("ingredient", i) for i in ("kaolin", "xanthan", "water", "lanolin")),
    *(Pick("substance", s) for s in ("Sodium Benzoate", "aqua", "KAOLIN", "Limonene")),
    Pick("flag", "strong-clay"),
    Pick("flag", "never-heard-of"),
)


def tenths(most: int) -> st.SearchStrategy[Fraction]:
    return st.integers(0, 10 * most).map(lambda n: Fraction(n, 10))


def selectors() -> st.SearchStrategy[Selector]:
    one = st.sampled_from(PICKS)
    return one | st.lists(one, min_size=1, max_size=3).map(lambda picks: AnyOf(tuple(picks)))


@st.composite
def windows(draw: st.DrawFn, most: int) -> tuple[Fraction | None, Fraction | None]:
    low, high = sorted((draw(tenths(most)), draw(tenths(most))))
    shape = draw(st.sampled_from(["low", "high", "both", "equal"]))
    if shape == "equal":
        return low, low
    return (low if shape != "high" else None), (high if shape != "low" else None)


@st.composite
def rules(draw: st.DrawFn) -> Rule:
    """A rule of any kind, with limits in tenths so that points meet them exactly."""
    basis: Basis = draw(st.sampled_from(["character", "safety", "law", "house"]))
    made = replace(head("rule"), basis=basis, surely=draw(st.booleans()))
    phase = draw(st.sampled_from([None, "A", "B"]))
    name = draw(st.sampled_from([*ALL, "lanolin"]))
    ph = st.sampled_from(["5", "5.2", "5.4", "5.5", "5.8", "6"]).map(fr)
    kind = draw(st.integers(0, 15))
    low, high = draw(windows(30))
    few = draw(st.integers(0, 6))
    a, b = draw(selectors()), draw(selectors())
    strengths = st.sampled_from(["thickening", "least_dose_yeast", "least_dose_bacteria"])
    return _made(kind, made, phase, name, draw(ph | st.none()), (low, high), few, (a, b), draw(strengths))


def _made(
    kind: int,
    made: Head,
    phase: str | None,
    name: str,
    ph: Fraction | None,
    window: tuple[Fraction | None, Fraction | None],
    few: int,
    of: tuple[Selector, Selector],
    strength: str,
) -> Rule:
    low, high = window
    a, b = of
    some = low if low is not None else high if high is not None else Fraction(0)
    tenth = (None if low is None else low / 10, None if high is None else high / 10)
    members = (("Sodium Benzoate", fr("0.8")), ("Aqua", fr("0.1")), ("Illite", fr(1)))
    makers: tuple[Rule, ...] = (
        Share(made, a, low, high, phase),
        Level(made, strength, *tenth, phase),
        Mean(made, "solids", low, high),
        Ratio(made, a, b, *tenth, phase),
        Absent(made, a),
        Amount(made, name, low, high),
        UseRange(made, name, *tenth),
        Legal(made, members, some / 10),
        Covers(made, ("bacteria", "yeast", "mould", "ghosts")[few % 4], ph),
        Acidity(made, fr(4), fr(5)),
        Cost(made, some / 3),
        Newcomers(made, few),
        LineCount(made, few),
        Clash(made, a, b),
        Needs(made, a, some / 3, b, some / 10),
        Stock(made, {"water": fr(100), name: some, "kaolin": some / 2}),
    )
    return makers[kind]


@st.composite
def points(draw: st.DrawFn, asked: Request) -> dict[Slot, Fraction]:
    """Shares in tenths (now and then a step beside), the filler making up 100."""
    shares = {}
    for slot in draw(st.lists(st.sampled_from(asked.slots), unique=True, max_size=6)):
        share = Fraction(draw(st.integers(1, 160)), 10) + draw(st.sampled_from([0, 0, 0, -1, 1])) * GRID
        shares[slot] = share
    shares.pop(asked.filler, None)
    left = 100 - sum(shares.values(), Fraction(0))
    return {**shares, asked.filler: left}


def judged(asked: Request, shares: dict[Slot, Fraction]) -> bool:
    """Whether the one rule holds; a use range of what is not there does."""
    verdicts = [v for v in judge(asked, shares) if v.rule.head.id == "test#rule"]
    return all(v.met for v in verdicts)


@tries(800)
@given(st.data(), rules())
def test_rows_and_judge_agree(data: st.DataObject, rule: Rule) -> None:
    """Two ways of saying the same, without a line of code between them."""
    asked = wide(rule)
    shares = data.draw(points(asked))
    found = kept(asked, shares)
    assert found["physics"] is (min(shares.values()) >= 0)
    assert found["test#rule"] is judged(asked, shares)


@settings(max_examples=300, deadline=None)
@given(st.data(), selectors(), selectors())
def test_rows_and_judge_agree_on_clashes(data: st.DataObject, a: Selector, b: Selector) -> None:
    asked = wide(Clash(head("rule"), a, b))
    shares = data.draw(points(asked))
    assert kept(asked, shares)["test#rule"] is judged(asked, shares)


@settings(max_examples=300, deadline=None)
@given(st.data(), st.sampled_from(["share", "level", "mean", "ratio", "cost", "amount"]))
def test_rows_and_judge_agree_at_the_very_limit(data: st.DataObject, kind: str) -> None:
    """The limit is what the point has, or a millionth of a millionth beside it."""
    asked = wide()
    shares = data.draw(points(asked))
    amounts = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), asked.ingredients)
    by = data.draw(st.sampled_from([-1, 0, 1])) * Fraction(1, 10**12)
    clay, gum = Pick("group", "clay"), Pick("group", "gum")
    share, level = Share(head("rule"), clay), Level(head("rule"), "thickening")
    mean = Mean(head("rule"), "solids")
    made: Rule
    if kind == "amount":
        made = Amount(head("rule"), "kaolin", amounts.of("kaolin") + by, amounts.of("kaolin") + by)
    elif kind == "ratio":
        bottom = measures.middle(share, amounts)
        assume(bottom)
        value = measures.middle(Share(head("rule"), gum), amounts) / bottom + by
        made = Ratio(head("rule"), gum, clay, value, value)
    elif kind == "cost":
        value = measures.cost(amounts) or Fraction(0)
        made = Cost(head("rule"), value + by)
    elif kind == "share":
        value = measures.middle(share, amounts) + by
        made = replace(share, low=value, high=value)
    elif kind == "level":
        value = measures.middle(level, amounts) + by
        made = replace(level, low=value, high=value)
    else:
        value = measures.middle(mean, amounts) + by
        made = replace(mean, low=value, high=value)
    exact = replace(asked, rules=(made,))
    assert kept(exact, shares)["test#rule"] is judged(exact, shares)
    assert judged(exact, shares) is (by == 0 or (kind == "cost" and by > 0))


AIM_NAMES: tuple[Aim, ...] = ("closest", "cheapest", "fewest-changes", "fewest-ingredients", "shelf-first")


@st.composite
def requests(draw: st.DrawFn) -> Request:
    """The small mask with windows, leave-outs, prices and an aim of its own."""
    asked = request()
    more: list[Rule] = []
    low = draw(tenths(35))
    if draw(st.booleans()):
        more.append(Share(head("clay"), Pick("group", "clay"), low, low + draw(tenths(6))))
    if draw(st.booleans()):
        thick = draw(tenths(2))
        more.append(Level(head("thick"), "thickening", thick, thick + Fraction(1, 7)))
    gone = draw(st.lists(st.sampled_from(sorted(set(INGREDIENTS) - {"water"})), unique=True, max_size=2))
    more += [Absent(head(f"no {name}"), Pick("ingredient", name)) for name in gone]
    if draw(st.booleans()):
        more.append(Absent(head("no strong"), Pick("flag", "strong-clay")))
    if draw(st.booleans()):
        more.append(Ratio(head("ratio"), Pick("group", "gum"), Pick("group", "polyol"), None, Fraction(1, 9)))
    if draw(st.booleans()):
        more.append(Cost(head("cost"), 1 + draw(tenths(1))))
    if draw(st.booleans()):
        more.append(Newcomers(head("new"), draw(st.integers(0, 2))))
    if draw(st.booleans()):
        wish = Share(head("wish", rank=1), Pick("ingredient", "illite"), draw(tenths(8)))
        more.append(wish)
    prices = draw(st.lists(st.integers(1, 400), min_size=len(ALL), max_size=len(ALL)))
    priced = {
        name: replace(i, pack=Pack(Fraction(1000), Fraction(price, 10)))
        for price, (name, i) in zip(prices, sorted(INGREDIENTS.items()), strict=False)
    }
    shelf = {name: Fraction(draw(st.integers(0, 300))) for name in ("water", "kaolin", "illite")}
    aim = draw(st.sampled_from(AIM_NAMES))
    rules = tuple(sorted((*asked.rules, *more), key=lambda r: r.head.id))
    return replace(asked, rules=rules, ingredients=priced, aim=(aim,), shelf_g=shelf)


def shares_of(asked: Request) -> dict[Slot, Fraction] | None:
    found = search(asked, limits=Limits())
    if not found.proposals:
        return None
    return {Slot(line.ingredient, line.phase): line.percent for line in found.proposals[0].lines}


@SLOW
@given(requests())
def test_every_proposal_passes_the_judge(asked: Request) -> None:
    found = search(asked, alternatives=2, limits=Limits())
    assert not found.off_grid
    assert found.proposals or found.infeasible
    for proposal in found.proposals:
        shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
        assert sum(shares.values()) == 100
        assert all((share / GRID).denominator == 1 for share in shares.values())
        verdicts = judge(asked, shares)
        assert verdicts == proposal.verdicts
        assert broken(verdicts) == ()
        assert all(kept(replace(asked, rules=_musts(asked)), shares).values())
        assert {v.rule.head.id for v in proposal.unmet_wishes} == {
            v.rule.head.id for v in verdicts if not v.met
        }
        first = proposal.stages[0]
        assert first.name.startswith("wishes") or first.value >= first.bound - TOLERANCE


def _musts(asked: Request) -> tuple[Rule, ...]:
    return tuple(rule for rule in asked.rules if rule.head.rank is None)


@SLOW
@given(requests(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(asked: Request, dice: random.Random) -> None:
    def shuffled(things: tuple[object, ...]) -> tuple[object, ...]:
        return tuple(dice.sample(things, len(things)))

    ingredients: list[tuple[str, Ingredient]] = dice.sample(
        sorted(asked.ingredients.items()), len(asked.ingredients)
    )
    other = replace(
        asked,
        rules=shuffled(asked.rules),  # type: ignore[arg-type]
        slots=shuffled(asked.slots),  # type: ignore[arg-type]
        pulls=shuffled(asked.pulls),  # type: ignore[arg-type]
        ingredients=dict(ingredients),
        base=dict(dice.sample(sorted(asked.base.items()), len(asked.base))),
    )
    one, two = (search(r, alternatives=2, limits=Limits()) for r in (asked, other))
    assert [p.lines for p in one.proposals] == [p.lines for p in two.proposals]
    assert [p.heading for p in one.proposals] == [p.heading for p in two.proposals]
    assert [p.verdicts for p in one.proposals] == [p.verdicts for p in two.proposals]


@SLOW
@given(requests())
def test_without_any_member_the_conflict_is_gone(asked: Request) -> None:
    assume(search(asked, limits=Limits()).infeasible)
    found = find_conflict(asked, Limits())
    names = {rule.head.id for rule in found.rules}
    everything = {rule.head.id for rule in asked.rules}
    model = hard_model(asked)
    assert names
    assert solve(model.without_rules(everything - names)).outcome is Outcome.INFEASIBLE
    for name in sorted(names):
        assert solve(model.without_rules(everything - names | {name})).outcome is Outcome.OPTIMAL
        (witness,) = [w for w in found.witnesses if w.rule == name]
        assert abs(sum((share for _, share in witness.lines), Fraction(-100))) <= 8 * GRID


@SLOW
@given(requests(), st.data())
def test_no_other_formula_is_better(asked: Request, data: st.DataObject) -> None:
    """Formulas that the judge accepts, found by moving the proposal about, never beat the proved bound."""
    closest = replace(asked, aim=("closest",), rules=_musts(asked))
    found = search(closest, limits=Limits())
    assume(found.proposals)
    proposal = found.proposals[0]
    bound = proposal.stages[0].bound
    shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    for _ in range(20):
        other = dict(shares)
        for _ in range(data.draw(st.integers(1, 3))):
            one, two = data.draw(st.tuples(*[st.sampled_from(closest.slots)] * 2))
            by = data.draw(st.sampled_from(["0.001", "0.01", "0.1", "1", "3"]).map(fr))
            other[one] = other.get(one, Fraction(0)) + by
            other[two] = other.get(two, Fraction(0)) - by
        if not broken(judge(closest, other)) and kept(closest, other)["physics"]:
            assert sum((part for _, part in departure(closest, other)), Fraction(0)) >= bound - TOLERANCE


TINY = ("kaolin", "illite", "bentonite")


@st.composite
def tiny(draw: st.DrawFn) -> Request:
    """Water and three clays, limits and targets in whole per cent: an optimum lies on whole per cent."""
    asked = only(request(formula=clays(kaolin="4", bentonite="2")), [*TINY, "water"])
    low = draw(st.integers(0, 12))
    more: list[Rule] = [
        Share(head("clay"), Pick("group", "clay"), fr(low), fr(low + draw(st.integers(0, 4)))),
        Amount(head("kaolin"), "kaolin", None, fr(draw(st.integers(0, 10)))),
        Newcomers(head("new"), draw(st.integers(0, 1))),
        *(rule for rule in ranges() if isinstance(rule, UseRange) and rule.ingredient in TINY),
    ]
    if draw(st.booleans()):
        more.append(LineCount(head("lines"), draw(st.integers(1, 4))))
    if draw(st.booleans()):
        more.append(Clash(head("clash"), Pick("ingredient", "kaolin"), Pick("flag", "strong-clay")))
    if draw(st.booleans()):
        more.append(Stock(head("stock"), {"water": fr(100), "kaolin": fr(3), "illite": fr(7)}))
    pull = Pull("clay", Share(head("p"), Pick("group", "clay")), fr(draw(st.integers(1, 9))), fr(2))
    aim = draw(st.sampled_from(AIM_NAMES[:4]))
    return replace(asked, rules=tuple(more), pulls=(pull,), aim=(aim,))


def value(asked: Request, shares: dict[Slot, Fraction]) -> Fraction:
    """The first stage of the aim, written down once more."""
    there = {slot.ingredient: share for slot, share in shares.items() if share}
    match asked.aim[0]:
        case "cheapest":
            prices = {"water": "0.5", "kaolin": "4", "illite": "9", "bentonite": "5"}
            return sum((share * fr(prices[name]) / 100 for name, share in there.items()), Fraction(0))
        case "fewest-ingredients":
            return Fraction(len(there))
        case "fewest-changes":
            base = {"kaolin": fr(4), "bentonite": fr(2), "illite": fr(0)}
            return Fraction(sum(there.get(name, Fraction(0)) != base[name] for name in base))
        case _:
            base = {"kaolin": fr(4), "bentonite": fr(2), "water": fr(94), "illite": fr(0)}
            moved = {name: abs(there.get(name, Fraction(0)) - base[name]) for name in base}
            clay = sum((share for name, share in there.items() if name != "water"), Fraction(0))
            return (
                sum(moved.values(), Fraction(0)) / 2
                + moved["kaolin"] / 4
                + moved["bentonite"] / 2
                + abs(clay - asked.pulls[0].target)
                + (5 if "illite" in there else 0)
            )


@tries(60)
@given(tiny())
def test_the_optimum_is_that_of_trying_everything(asked: Request) -> None:
    where = {slot.ingredient: slot for slot in asked.slots}
    least: Fraction | None = None
    for amounts in itertools.product(range(17), repeat=3):
        if sum(amounts) > 16:
            continue
        shares = {where[n]: Fraction(a) for n, a in zip(TINY, amounts, strict=True)}
        shares[asked.filler] = Fraction(100 - sum(amounts))
        worth = value(asked, shares)
        if (least is None or worth < least) and not broken(judge(asked, shares)):
            least = worth
    found = search(asked, limits=Limits())
    if least is None:
        assert found.infeasible
        return
    assert found.proposals, found.why
    stage = found.proposals[0].stages[0]
    assert abs(stage.value - least) <= TOLERANCE
    assert stage.optimal
    assert abs(stage.bound - least) <= TOLERANCE
