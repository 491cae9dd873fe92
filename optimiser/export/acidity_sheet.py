"""The pH of a proposal for its sheet and its answer: before the adjusters, with them, and between.

Amounts are grams per 100 g of the formula. The arithmetic is that of `science.acidity`; what cannot be told
stays None, with the reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.request import Request, Slot
from optimiser.export.plain import clean
from optimiser.science.acidity import NO_WATER, PhResult, adjuster_curve, ph_range, solve_ph
from optimiser.science.charge import ChargeProfile, End, Unknown
from optimiser.science.formula import profiles_for

Shares = Mapping[Slot, Fraction]
ZERO = Fraction(0)
STEPS = 20
"""Steps of a curve from none to the ceiling."""
READ_IN = Fraction(1000)
"""Grams of distilled water to 100 g: the pH of pastes is read at 1 part in 10 (common practice)."""
ADDED_WATER = "distilled water, added"
_TARGET = re.compile(r"pH\s*([0-9]+(?:[.,][0-9]+)?)\s*", re.IGNORECASE)
_DOSED = "dosed line"
_HALVINGS = 14


@dataclass(frozen=True, slots=True)
class Span:
    """A pH by the middle of the data, and the lowest and highest that the data allow."""

    ph: Fraction
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class State:
    """One state of the pot: its pH as made, the model's own error (pH), and the pH read at 1 part in 10."""

    made: Span
    model_error: Fraction
    read: Span


@dataclass(frozen=True, slots=True)
class Point:
    """pH after so many grams of the adjuster to 100 g of formula."""

    grams: Fraction
    low: Fraction
    middle: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Curve:
    """pH against one line dosed to a reading, all other such lines left out."""

    ingredient: str
    phase: str
    target: Fraction
    points: tuple[Point, ...]

    @property
    def falls(self) -> bool:
        """An acid lowers the pH, an alkali lifts it."""
        return self.points[-1].middle < self.points[0].middle


@dataclass(frozen=True, slots=True)
class Pot:
    """The formula without its adjusters, with the charge of everything in it."""

    grams: Mapping[str, Fraction]
    profiles: Mapping[str, ChargeProfile | Unknown]

    def with_more(self, added: Iterable[tuple[str, Fraction]]) -> dict[str, Fraction]:
        found = dict(self.grams)
        for name, grams in added:
            found[name] = found.get(name, ZERO) + grams
        return found

    def ph(self, adjuster: str, grams: Fraction, end: End = "middle") -> float:
        """Raises ValueError where it cannot be told."""
        found = solve_ph(self.with_more([(adjuster, grams)]), self.profiles, end=end).ph
        if found is None:
            raise ValueError(f"the pH with {adjuster} cannot be told")
        return found

    def curve(self, adjuster: str, ceiling: Fraction, steps: int = STEPS) -> tuple[Point, ...]:
        """pH from none to `ceiling` grams; the pot's own share of the same ingredient stays in it."""
        profiles = {**self.profiles, _DOSED: self.profiles[adjuster]}
        found = adjuster_curve(self.grams, profiles, _DOSED, ceiling, steps)
        return tuple(_point(row) for row in found)

    def at(self, adjuster: str, grams: Fraction) -> Point:
        return self.curve(adjuster, grams, 1)[-1]

    def dose_to(
        self, adjuster: str, ceiling: Fraction, ph: Fraction, end: End, *, falls: bool
    ) -> Fraction | None:
        """Grams to 100 g that bring the pot to a pH; 0 where it is past it, None where all is not enough."""

        def past(grams: Fraction) -> bool:
            found = self.ph(adjuster, grams, end)
            return found <= ph if falls else found >= ph

        if past(ZERO):
            return ZERO
        if not past(ceiling):
            return None
        low, high = ZERO, ceiling
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if past(middle) else (middle, high)
        return high


@dataclass(frozen=True, slots=True)
class AcidityTold:
    """What is known of a proposal's pH. `after` is with every adjuster at its ceiling.

    `ionic_strength` (mol per kg of water) and `buffer_capacity` (mol per kg of water and pH) are those of
    `after`. `unknown` are (ingredient, reason) of charges not known; `neutral` ingredients have substances
    counted as neither acid nor base because no table lists them; `powders` buffer by a line.
    """

    pot: Pot
    before: State | None
    after: State | None
    ionic_strength: Fraction | None
    buffer_capacity: Fraction | None
    valid: bool
    why: tuple[str, ...]
    unknown: tuple[tuple[str, str], ...]
    neutral: tuple[str, ...]
    powders: tuple[str, ...]
    curves: tuple[Curve, ...]

    @property
    def watery(self) -> bool:
        return NO_WATER not in self.why


def acidity_of(request: Request, shares: Shares) -> AcidityTold:
    """The pH of `shares` (% w/w); without a single number where a charge is unknown or the model ends."""
    adjusters = [
        (slot, target)
        for slot, dosed in sorted(request.dosed.items())
        if shares.get(slot) and (target := target_of(dosed.to)) is not None
    ]
    pot = _pot(request, shares, {slot for slot, _ in adjusters})
    doses = [(slot.ingredient, shares[slot]) for slot, _ in adjusters]
    before = solve_ph(pot.grams, pot.profiles)
    after = solve_ph(pot.with_more(doses), pot.profiles)
    unknown = tuple((name, one.reason) for name, one in pot.profiles.items() if isinstance(one, Unknown))
    valid = before.valid and after.valid and not unknown
    known = {name: one for name, one in pot.profiles.items() if isinstance(one, ChargeProfile)}
    return AcidityTold(
        pot,
        _state(pot.grams, pot, before),
        _state(pot.with_more(doses), pot, after),
        _rounded(after.ionic_strength, 4) if after.valid else None,
        _rounded(after.buffer_capacity, 6) if after.valid else None,
        valid,
        tuple(dict.fromkeys((*before.why, *after.why))),
        unknown,
        tuple(name for name, one in known.items() if one.as_neutral),
        tuple(name for name, one in known.items() if one.buffers),
        tuple(
            Curve(slot.ingredient, slot.phase, target, pot.curve(slot.ingredient, shares[slot]))
            for slot, target in adjusters
            if valid
        ),
    )


def target_of(reading: str) -> Fraction | None:
    """The pH of `pH 4.8`; None for any other reading."""
    found = _TARGET.fullmatch(clean(reading))
    return Fraction(found[1].replace(",", ".")) if found else None


def _pot(request: Request, shares: Shares, adjusters: set[Slot]) -> Pot:
    names = sorted({slot.ingredient for slot, share in shares.items() if share})
    grams = dict.fromkeys(names, ZERO)
    for slot, share in shares.items():
        if share and slot not in adjusters:
            grams[slot.ingredient] += share
    present = [request.ingredients[name] for name in names if name in request.ingredients]
    profiles = dict.fromkeys(names, _UNHEARD) | profiles_for(present, request.substances)
    return Pot(grams, profiles)


_UNHEARD: ChargeProfile | Unknown = Unknown("no data on its charge")
_WATER: dict[str, ChargeProfile | Unknown] = {ADDED_WATER: ChargeProfile(water=Fraction(1))}


def _state(grams: Mapping[str, Fraction], pot: Pot, found: PhResult) -> State | None:
    if not found.valid:
        return None
    diluted = {**grams, ADDED_WATER: READ_IN}
    made, read = _span(grams, pot.profiles), _span(diluted, {**pot.profiles, **_WATER})
    return None if made is None or read is None else State(made, _rounded(found.model_error, 2), read)


def _span(grams: Mapping[str, Fraction], profiles: Mapping[str, ChargeProfile | Unknown]) -> Span | None:
    middle, ends = solve_ph(grams, profiles).ph, ph_range(grams, profiles)
    if middle is None or ends is None:
        return None
    return Span(_rounded(middle, 2), _rounded(ends[0], 2), _rounded(ends[1], 2))


def _point(row: tuple[Fraction, float, float, float]) -> Point:
    return Point(row[0], _rounded(row[1], 2), _rounded(row[2], 2), _rounded(row[3], 2))


def _rounded(value: float, places: int) -> Fraction:
    return Fraction(f"{value:.{places}f}")
