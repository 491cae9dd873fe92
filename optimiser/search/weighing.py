"""Grams for the balances at hand: whole steps that add up to the batch exactly."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.worktable import Balance
from optimiser.errors import OptimiserError
from optimiser.units.numbers import places_of

FEWEST_STEPS = 10
BAND_STEPS = 2
BAND_PART = Fraction(1, 100)
STOCK = 10
"""A stock holds one part in ten of its ingredient, the rest is the filler."""
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Weight:
    """What is weighed of one line, in grams.

    `grams` of the line go into the batch. `reads_g` is what its balance reads and `places` the decimals that
    needs; `step_g` is the least change of `grams`. `low` to `high` is accepted of what is weighed.
    `smallest_batch_g` is set when the line is under ten steps: the smallest batch that lifts it to ten.
    `portions` is above 1 when no balance carries the line at once. `top_up_g` is the part of `grams` that is
    read on the finest balance, the rest on the line's own; `top_up_places` its decimals. `stock_g` is set
    where the line is weighed as one part in ten of the filler: what is weighed of that. `less_g` is what of
    the filler's grams is in such stocks already.
    """

    grams: Fraction
    reads_g: Fraction
    places: int
    low: Fraction
    high: Fraction
    step_g: Fraction
    smallest_batch_g: Fraction | None = None
    portions: int = 1
    top_up_g: Fraction = ZERO
    top_up_places: int = 0
    stock_g: Fraction | None = None
    less_g: Fraction = ZERO

    @property
    def weighed_g(self) -> Fraction:
        """What the balance shows for this line."""
        return self.grams - self.less_g if self.stock_g is None else self.stock_g


@dataclass(frozen=True, slots=True)
class Weighing:
    """`batch_g` is the batch asked for, rounded to the finest step in use; the weights add up to it."""

    batch_g: Fraction
    weights: tuple[Weight, ...]


def weigh(
    shares: Sequence[Fraction],
    batch_g: Fraction,
    balances: tuple[Balance, ...],
    filler: int,
    tenths: Collection[int] = (),
) -> Weighing:
    """Weights for `shares` (% w/w, together 100), each on the finest balance that carries it.

    Steps left over go by largest remainder, first written first on a tie; what the coarser balances cannot
    show goes to the line number `filler`. Lines in `tenths` are weighed as one part in ten of the filler.
    The cup's own weight is not counted.
    """
    if sum(shares) != 100:
        raise OptimiserError(
            f"the lines add up to {float(sum(shares)):g} %, not to 100 %", "make one line fill up to 100 %"
        )
    if not balances or batch_g <= 0:
        raise OptimiserError("a sheet needs a batch above 0 g and a balance", "name them in worktable.yaml")
    chosen = _balances(shares, batch_g, balances, tenths)
    finest = min(balance.reads_g for balance in chosen)
    batch = max(round(batch_g / finest), 1) * finest
    exact = [share * batch / 100 for share in shares]
    steps = _steps(chosen, filler, tenths)
    grams = _rounded(exact, steps, min(steps), batch, filler)
    return _made(grams, shares, batch, chosen, filler, tenths)


def weighed(
    like: Weighing,
    grams: Sequence[Fraction],
    filler: int,
    tenths: Collection[int],
    balances: tuple[Balance, ...],
) -> Weighing:
    """The same batch with other grams, in whole steps of the balances that `like` was made for."""
    shares = [weight.grams / like.batch_g * 100 for weight in like.weights]
    chosen = _balances(shares, like.batch_g, balances, tenths)
    return _made(list(grams), [g / like.batch_g * 100 for g in grams], like.batch_g, chosen, filler, tenths)


def _balances(
    shares: Sequence[Fraction], batch_g: Fraction, balances: tuple[Balance, ...], tenths: Collection[int]
) -> list[Balance]:
    return [
        _balance_for(share * batch_g / 100 * (STOCK if index in tenths else 1), balances)
        for index, share in enumerate(shares)
    ]


def _steps(chosen: Sequence[Balance], filler: int, tenths: Collection[int]) -> list[Fraction]:
    """Least change of each line's grams; the filler has to take up what stocks bring of it."""
    unit = min(balance.reads_g for balance in chosen)
    steps = [_common_step(balance.reads_g, unit) for balance in chosen]
    for index in tenths:
        steps[index] /= STOCK
    if tenths:
        steps[filler] = unit / STOCK
    return steps


def _made(
    grams: list[Fraction],
    shares: Sequence[Fraction],
    batch: Fraction,
    chosen: Sequence[Balance],
    filler: int,
    tenths: Collection[int],
) -> Weighing:
    """Every line with what its balance shows, the filler's top-up on the finest one."""
    finest = min(balance.reads_g for balance in chosen)
    steps = _steps(chosen, filler, tenths)
    less = sum((grams[index] * (STOCK - 1) for index in tenths), ZERO)
    weights = []
    for index, balance in enumerate(chosen):
        own = _common_step(balance.reads_g, finest)
        stock = grams[index] * STOCK if index in tenths else None
        shown = grams[index] - less if index == filler else grams[index] if stock is None else stock
        extra = shown % own if index == filler else ZERO
        weight = _weight(shares[index], shown, balance, extra, finest)
        weights.append(
            replace(
                weight,
                grams=grams[index],
                step_g=steps[index] if index != filler else min(steps[filler], finest),
                stock_g=stock,
                less_g=less if index == filler else ZERO,
            )
        )
    return Weighing(batch, tuple(weights))


def _balance_for(grams: Fraction, balances: tuple[Balance, ...]) -> Balance:
    carrying = [balance for balance in balances if balance.up_to_g >= grams]
    if carrying:
        return min(carrying, key=lambda balance: (balance.reads_g, balance.up_to_g))
    return max(balances, key=lambda balance: (balance.up_to_g, -balance.reads_g))


def _common_step(step: Fraction, unit: Fraction) -> Fraction:
    """The least step that is whole on both balances."""
    return Fraction(math.lcm(step.numerator, unit.numerator), math.gcd(step.denominator, unit.denominator))


def _rounded(
    exact: list[Fraction], steps: list[Fraction], unit: Fraction, batch: Fraction, filler: int
) -> list[Fraction]:
    """Weights in whole steps; what is below the filler's own step is topped up on the finest balance."""
    grams = [ZERO] * len(exact)
    left, residue = batch, ZERO
    for step in sorted({step for step in steps if step != unit}, reverse=True):
        members = [i for i, own in enumerate(steps) if own == step]
        whole = sum((exact[i] for i in members), ZERO)
        count = math.floor(whole / step)
        _hand_out(grams, exact, members, step, count)
        left -= count * step
        residue += whole - count * step
    top_up = math.floor(residue / unit) * unit
    members = [i for i, own in enumerate(steps) if own == unit]
    _hand_out(grams, exact, members, unit, round((left - top_up) / unit))
    grams[filler] += top_up
    return grams


def _hand_out(
    grams: list[Fraction], exact: list[Fraction], members: list[int], step: Fraction, count: int
) -> None:
    """Gives `members` together `count` steps: whole ones first, the rest by largest remainder."""
    whole = {i: math.floor(exact[i] / step) for i in members}
    by_remainder = sorted(members, key=lambda i: (whole[i] - exact[i] / step, i))
    for i in by_remainder[: count - sum(whole.values())]:
        whole[i] += 1
    for i in members:
        grams[i] = whole[i] * step


def _weight(share: Fraction, grams: Fraction, balance: Balance, top_up: Fraction, unit: Fraction) -> Weight:
    step = balance.reads_g
    few = grams < BAND_STEPS * FEWEST_STEPS * step
    band = step if few else max(BAND_STEPS * step, math.floor(grams * BAND_PART / step) * step)
    least = None
    if grams < FEWEST_STEPS * step:
        least = Fraction(math.ceil(FEWEST_STEPS * step / share * 100))
    return Weight(
        grams=grams,
        reads_g=step,
        places=_places(step),
        low=max(grams - band, ZERO),
        high=grams + band,
        step_g=step,
        smallest_batch_g=least,
        portions=max(math.ceil(grams / balance.up_to_g), 1),
        top_up_g=top_up,
        top_up_places=_places(unit),
    )


def _places(step: Fraction) -> int:
    return places_of(step) or 0
