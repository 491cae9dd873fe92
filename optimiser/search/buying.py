"""Whole packs that cover what is missing, at the least money."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.costs import Offer
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.interface import Limits
from optimiser.solver.solving import solve

ZERO, ONE = Fraction(0), Fraction(1)
MOST_PACKS = 10_000


@dataclass(frozen=True, slots=True)
class Bought:
    """So many packs of one offer; `grams` and `price` are for all of them."""

    offer: Offer
    packs: int

    @property
    def grams(self) -> Fraction:
        return self.packs * self.offer.grams

    @property
    def price(self) -> Fraction:
        return self.packs * self.offer.price


@dataclass(frozen=True, slots=True)
class Basket:
    """What to buy; `post` is money an order at each trader costs; `not_offered` names what nobody sells."""

    packs: tuple[Bought, ...]
    post: Fraction
    not_offered: tuple[str, ...]
    proved: bool

    @property
    def goods(self) -> Fraction:
        return sum((one.price for one in self.packs), ZERO)

    @property
    def total(self) -> Fraction:
        return self.goods + self.post


def buy(missing: Mapping[str, Fraction], offers: Iterable[Offer], post: Fraction, limits: Limits) -> Basket:
    """The packs of `offers` that cover `missing` (grams by ingredient) for the least money.

    An offer counts from its least number of packs on; each trader with a pack costs `post` once. Of baskets
    of one price the one with the least left over.
    """
    known = sorted(offers, key=lambda one: (one.ingredient, one.supplier, one.grams, one.price, one.at_least))
    usable = [one for one in known if missing.get(one.ingredient, ZERO) > 0]
    not_offered = tuple(sorted(set(missing) - {one.ingredient for one in usable}))
    if not usable:
        return Basket((), ZERO, not_offered, proved=True)
    model = _model(missing, usable, post)
    first = solve(model, limits=limits)
    if first.objective is None:
        return Basket((), ZERO, tuple(sorted(missing)), proved=False)
    spent = Fraction(round(first.objective * 10**6), 10**6)
    held = Row("spent", model.cost, None, spent + Fraction(1, 10**4), "aim", "the least money")
    left = {f"n{i:04d}": one.grams for i, one in enumerate(usable)}
    second = solve(model.with_rows((held,)).with_cost(left), limits=limits)
    values = (second if second.objective is not None else first).values
    packs = [Bought(one, round(values[f"n{i:04d}"])) for i, one in enumerate(usable)]
    kept = tuple(one for one in packs if one.packs)
    traders = {one.offer.supplier for one in kept}
    return Basket(kept, post * len(traders), not_offered, proved=first.outcome.value == "optimal")


def _model(missing: Mapping[str, Fraction], offers: list[Offer], post: Fraction) -> Model:
    variables: list[Var] = []
    rows: list[Row] = []
    cost: dict[str, Fraction] = {}
    by_trader: dict[str, str] = {}
    for i, offer in enumerate(offers):
        packs, any_packs = f"n{i:04d}", f"y{i:04d}"
        most = Fraction(min(-(-missing[offer.ingredient] // offer.grams) + offer.at_least, MOST_PACKS))
        trader = by_trader.setdefault(offer.supplier, f"z{len(by_trader):04d}")
        variables += [Var(packs, ZERO, most, "I"), Var(any_packs, ZERO, ONE, "B")]
        rows += [
            Row(f"{packs}:most", ((packs, ONE), (any_packs, -most)), None, ZERO),
            Row(f"{packs}:least", ((packs, ONE), (any_packs, Fraction(-offer.at_least))), ZERO, None),
            Row(f"{packs}:order", ((any_packs, ONE), (trader, -ONE)), None, ZERO),
        ]
        cost[packs] = offer.price
    for trader in by_trader.values():
        variables.append(Var(trader, ZERO, ONE, "B"))
        cost[trader] = post
    for name, grams in sorted(missing.items()):
        own = tuple((f"n{i:04d}", one.grams) for i, one in enumerate(offers) if one.ingredient == name)
        if own:
            rows.append(Row(f"cover:{name}", own, grams, None))
    return Model("packs to buy", tuple(variables), tuple(rows)).with_cost(cost)
