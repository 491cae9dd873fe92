"""What to buy for the next batches, and what a jar costs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from optimiser.domain.costs import Costs, JarCost, Offer, Share
from optimiser.domain.outcome import Proposal
from optimiser.domain.worktable import Lot, Worktable
from optimiser.errors import OptimiserError, UsageError
from optimiser.requests.sources import Sources
from optimiser.search.buying import Basket, buy
from optimiser.search.stock import Drawn, draw, in_date
from optimiser.solver.interface import Limits
from optimiser.workflows.compare import opened
from optimiser.workflows.volumes import batch_grams

ZERO, HUNDRED = Fraction(0), Fraction(100)


@dataclass(frozen=True, slots=True)
class Need:
    """One ingredient over all batches, in grams: needed, taken from the shelf, missing.

    `on_shelf` is what is taken, never more than is needed; `stock` all that is there and in date.
    """

    ingredient: str
    name: str
    needed: Fraction
    on_shelf: Fraction
    missing: Fraction
    stock: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Shopping:
    """`batches` are (formula, how many, grams each); `day` is the day the lots have to be in date on."""

    batches: tuple[tuple[str, int, Fraction], ...]
    day: date
    needs: tuple[Need, ...]
    drawn: Drawn
    basket: Basket
    currency: str
    names: Mapping[str, str]


def shopping(
    sources: Sources, formulas: tuple[str, ...], batches: int, batch: str = "", day: date | None = None
) -> Shopping:
    """Packs to buy at the least money for so many batches of each formula or saved proposal.

    What is on the shelf and in date comes first, the first to expire first. `day` stands for the worktable's
    rules date where it is not given. Raises UsageError or OptimiserError.
    """
    table = sources.worktable
    when = day or table.settings.rules_date
    told = [opened(sources, word) for word in formulas or tuple(sorted(table.formulas))]
    needed: dict[str, Fraction] = {}
    listed = []
    for one in told:
        grams = batch_grams(batch, table.settings.decimal) if batch else one.request.formula.batch_g
        listed.append((one.side.name, batches, grams))
        for line in one.proposal.lines:
            more = line.percent / HUNDRED * grams * batches
            needed[line.ingredient] = needed.get(line.ingredient, ZERO) + more
    drawn = draw(table.shelf, needed, when)
    basket = buy(drawn.missing, offers_of(table), table.costs.post, Limits())
    names = {name: table.ingredients[name].name for name in needed}
    stock = _stock(table.shelf, when)
    needs = tuple(
        Need(name, names[name], grams, grams - lacks, lacks, stock.get(name, ZERO))
        for name, grams in sorted(needed.items(), key=lambda pair: names[pair[0]].casefold())
        for lacks in (drawn.missing.get(name, ZERO),)
    )
    return Shopping(tuple(listed), when, needs, drawn, basket, table.settings.currency, names)


def _stock(lots: Iterable[Lot], day: date) -> dict[str, Fraction]:
    """Grams in date on that day, by ingredient."""
    found: dict[str, Fraction] = {}
    for lot in in_date(lots, day):
        found[lot.ingredient] = found.get(lot.ingredient, ZERO) + lot.grams
    return found


def offers_of(table: Worktable) -> tuple[Offer, ...]:
    """The pack of ingredients.csv for each ingredient, and the offers of costs.yaml."""
    own = (
        Offer(one.id, one.pack.grams, one.pack.price, 1, one.supplier)
        for one in table.ingredients.values()
        if one.pack is not None
    )
    more = (
        Offer(
            o.ingredient, o.grams, o.price, o.at_least, o.supplier or table.ingredients[o.ingredient].supplier
        )
        for o in table.costs.offers
    )
    return (*own, *more)


def jar_cost(costs: Costs, cost_per_kg: Fraction, batch_g: Fraction) -> JarCost:
    """What a jar costs: material with what the pots keep, packaging, work. Raises UsageError."""
    jar = costs.jar
    if jar is None:
        raise UsageError("costs.yaml says nothing of a jar", "write jar: {holds: 100 g, parts: [...]}")
    filled = jar.holds_g + jar.extra_g
    usable = batch_g * (1 - costs.waste)
    jars = int(usable // filled)
    if jars < 1:
        raise UsageError(
            f"a batch of {float(batch_g):g} g fills no jar of {float(filled):g} g", "take a bigger batch"
        )
    material = cost_per_kg / 1000 * batch_g / jars
    in_jar = cost_per_kg / 1000 * filled
    shares = [
        Share("material in the jar", in_jar),
        Share("material left in pots and over", material - in_jar),
    ]
    shares += [Share(part.what, part.price) for part in jar.parts]
    if costs.labour is not None:
        minutes = costs.labour.per_batch_min / jars + costs.labour.per_jar_min
        shares.append(Share("work", costs.labour.per_hour / 60 * minutes))
    return JarCost(batch_g, jars, usable - jars * filled, tuple(shares), jar.price, jar.holds_g, filled)


@dataclass(frozen=True, slots=True)
class Reckoning:
    """Where the money goes: each line's part of the material, and the jar."""

    name: str
    currency: str
    cost_per_kg: Fraction
    lines: tuple[tuple[str, Fraction, Fraction], ...]
    jar: JarCost | None


def reckon(sources: Sources, word: str, batch: str = "") -> Reckoning:
    """What a formula or saved proposal costs, per kg by line and per jar where costs.yaml has one.

    Lines are (name, % w/w, money per kg of product), the dearest first.
    """
    told = opened(sources, word)
    table = sources.worktable
    if told.proposal.cost_per_kg is None:
        raise OptimiserError("a price is missing", "fill pack_size and pack_price in ingredients.csv")
    grams = batch_grams(batch, table.settings.decimal) if batch else told.request.formula.batch_g
    jar = jar_cost(table.costs, told.proposal.cost_per_kg, grams) if table.costs.jar else None
    return Reckoning(
        told.side.name,
        table.settings.currency,
        told.proposal.cost_per_kg,
        _by_line(told.proposal, table),
        jar,
    )


def _by_line(proposal: Proposal, table: Worktable) -> tuple[tuple[str, Fraction, Fraction], ...]:
    totals: dict[str, Fraction] = {}
    for line in proposal.lines:
        totals[line.ingredient] = totals.get(line.ingredient, ZERO) + line.percent
    found = [
        (
            table.ingredients[name].name,
            share,
            (table.ingredients[name].price_per_kg or ZERO) * share / HUNDRED,
        )
        for name, share in totals.items()
    ]
    return tuple(sorted(found, key=lambda row: (-row[2], row[0])))
