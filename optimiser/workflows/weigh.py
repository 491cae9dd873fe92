"""A saved proposal as weights for the balances at hand; where they are too coarse, what would do."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.request import Request, Slot
from optimiser.domain.worktable import Balance
from optimiser.errors import OptimiserError, UsageError
from optimiser.problems import did_you_mean
from optimiser.search.weigh_plan import Plan, TooCoarse, makes_a_stock, plan_weights, with_bands
from optimiser.search.weighing import FEWEST_STEPS
from optimiser.solver.interface import Limits
from optimiser.units.numbers import show_number

Lines = tuple[tuple[Slot, Fraction], ...]
Reopen = Callable[[Fraction], tuple[Request, dict[Slot, Fraction]]]
LARGER = tuple(Fraction(n, 10) for n in (10, 13, 16, 20, 25, 32, 40, 50, 64, 80, 100, 160, 250))
REFINED = 5
MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class Weighed:
    """The request for this batch with the plan of its weights; `stocks` names the lines weighed diluted."""

    request: Request
    plan: Plan
    lines: Lines
    stocks: tuple[Slot, ...]


def weigh_out(
    reopen: Reopen, batch_g: Fraction, balances: tuple[Balance, ...], dilute: tuple[str, ...] = ()
) -> Weighed:
    """Weights on which every rule holds. `reopen` gives request and shares for a batch of so many grams;
    `dilute` names ingredients (or "all") to be weighed as one part in ten of the filler.

    Raises OptimiserError with the smallest batch, or the pre-dilution, that would do.
    """
    request, shares = reopen(batch_g)
    lines = in_order(request, shares)
    stocks = _stocks(request, lines, batch_g, balances, dilute)
    plan = plan_weights(request, lines, batch_g, balances, diluted=stocks, limits=Limits())
    if isinstance(plan, TooCoarse):
        raise OptimiserError(_why(plan, batch_g, balances), _cures(reopen, batch_g, balances, stocks))
    return Weighed(request, with_bands(request, tuple(slot for slot, _ in lines), plan), lines, stocks)


def in_order(request: Request, shares: dict[Slot, Fraction]) -> Lines:
    """Slots as a proposal lists them: phases in order, own lines first, then what came, largest first."""
    found: list[Slot] = []
    for phase in request.formula.phases:
        own = [Slot(line.ingredient, phase.name) for line in phase.lines]
        new = [slot for slot in shares if slot.phase == phase.name and slot not in own]
        found += [slot for slot in dict.fromkeys(own) if shares.get(slot)]
        found += sorted(new, key=lambda slot: (-shares[slot], slot.ingredient))
    return tuple((slot, shares[slot]) for slot in found)


def _stocks(
    request: Request, lines: Lines, batch_g: Fraction, balances: tuple[Balance, ...], dilute: tuple[str, ...]
) -> tuple[Slot, ...]:
    if not dilute:
        return ()
    if "all" in dilute:
        return _dilutable(request, lines, batch_g, balances)
    by_id = {slot.ingredient: slot for slot, _ in lines}
    by_name = {request.ingredients[one].name.casefold(): slot for one, slot in by_id.items()}
    found = []
    for word in dilute:
        slot = by_id.get(word) or by_name.get(word.casefold())
        if slot is None:
            raise UsageError(f'no line of the proposal is called "{word}"', did_you_mean(word, by_id))
        why = _not_dilutable(request, slot)
        if why:
            raise UsageError(
                f"{request.ingredients[slot.ingredient].name} is not weighed as a stock: {why}", ""
            )
        found.append(slot)
    return tuple(found)


def _dilutable(
    request: Request, lines: Lines, batch_g: Fraction, balances: tuple[Balance, ...]
) -> tuple[Slot, ...]:
    """Lines under ten steps of the finest balance that a stock could carry."""
    least = FEWEST_STEPS * min(balance.reads_g for balance in balances)
    small = [slot for slot, share in lines if share * batch_g / 100 < least]
    return tuple(slot for slot in small if not _not_dilutable(request, slot))


def _not_dilutable(request: Request, slot: Slot) -> str:
    """Why a line cannot be weighed as one part in ten of the filler; nothing where it can."""
    filler, own = request.ingredients[request.filler.ingredient], request.ingredients[slot.ingredient]
    if slot == request.filler or slot in request.dosed:
        return "it makes up 100 % or is added by reading"
    if filler.group != "water":
        return "the line that makes up 100 % is no water"
    return "" if makes_a_stock(own) else "it is not known that water dissolves one part in ten of it"


def _why(plan: TooCoarse, batch_g: Fraction, balances: tuple[Balance, ...]) -> str:
    reads = " and ".join(f"{_text(one)} g" for one in sorted({balance.reads_g for balance in balances}))
    rules = "; ".join(verdict.rule.head.sentence.rstrip(".") for verdict in plan.broken[:MOST_NAMED])
    broken = f": {rules}" if rules else ": a line would weigh nothing"
    return f"{_text(batch_g)} g cannot be weighed out in steps of {reads} with every rule kept{broken}"


def _cures(reopen: Reopen, batch_g: Fraction, balances: tuple[Balance, ...], stocks: tuple[Slot, ...]) -> str:
    found = []
    enough = smallest_batch(reopen, batch_g, balances, stocks)
    if enough is not None:
        found.append(f"a batch of {_text(enough)} g works")
    request, shares = reopen(batch_g)
    lines = in_order(request, shares)
    more = tuple(dict.fromkeys((*stocks, *_dilutable(request, lines, batch_g, balances))))
    if more != stocks and _works(request, lines, batch_g, balances, more):
        words = " ".join(f"--dilute {slot.ingredient}" for slot in more)
        found.append(f"so does weighing as one part in ten of water: {words}")
    finer = tuple(Balance(balance.reads_g / 10, balance.up_to_g) for balance in balances)
    if _works(request, lines, batch_g, finer, stocks):
        reads = _text(min(balance.reads_g for balance in finer))
        found.append(f"so does a balance that reads {reads} g")
    return "; ".join(found).removeprefix("so does ") or "take a bigger batch or a finer balance"


def smallest_batch(
    reopen: Reopen, batch_g: Fraction, balances: tuple[Balance, ...], stocks: tuple[Slot, ...] = ()
) -> Fraction | None:
    """The smallest larger batch found that these balances weigh out with every rule kept, or None.

    Sizes are tried from the first that gives every line half a step, up to 25 times that; then between the
    last that failed and the first that worked.
    """
    bad, good = batch_g, None
    start = max(batch_g, _half_a_step(reopen, batch_g, balances, stocks))
    for factor in LARGER:
        size = _nice(start * factor)
        if size <= bad:
            continue
        if _batch_works(reopen, size, balances, stocks):
            good = size
            break
        bad = size
    if good is None:
        return None
    for _ in range(REFINED):
        middle = _nice((bad + good) / 2)
        if middle in (bad, good):
            break
        bad, good = (bad, middle) if _batch_works(reopen, middle, balances, stocks) else (middle, good)
    return good


def _half_a_step(
    reopen: Reopen, batch_g: Fraction, balances: tuple[Balance, ...], stocks: tuple[Slot, ...]
) -> Fraction:
    """The batch in which the smallest line that is not diluted weighs half a step of the finest balance."""
    shares = [share for slot, share in reopen(batch_g)[1].items() if share and slot not in stocks]
    return min(balance.reads_g for balance in balances) / 2 / min(shares) * 100


def _batch_works(
    reopen: Reopen, size: Fraction, balances: tuple[Balance, ...], stocks: tuple[Slot, ...]
) -> bool:
    request, shares = reopen(size)
    return _works(request, in_order(request, shares), size, balances, stocks)


def _works(
    request: Request,
    lines: Lines,
    batch_g: Fraction,
    balances: tuple[Balance, ...],
    stocks: tuple[Slot, ...],
) -> bool:
    plan = plan_weights(request, lines, batch_g, balances, diluted=stocks, limits=Limits())
    return isinstance(plan, Plan)


def _nice(grams: Fraction) -> Fraction:
    """Rounded up to two digits that count."""
    unit = Fraction(10) ** (math.floor(math.log10(float(grams))) - 1)
    return math.ceil(grams / unit) * unit


def _text(grams: Fraction) -> str:
    return show_number(grams, 4)
