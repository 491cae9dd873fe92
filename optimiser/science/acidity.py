"""pH from the charge balance of the water phase: the full form, for the judge.

Net charge of everything dissolved and of the powders is nought. At a fixed ionic strength it falls strictly
as pH rises, so there is one root; the ionic strength is the one the dissolved ions give at that root.
Holds at 25 C, in one water phase, up to an ionic strength of 0.3 mol/kg (0.5 at most) and 15 % glycols in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.activity import DAVIES, LN10, Activity
from optimiser.science.charge import (
    Acid,
    Buffer,
    ChargeProfile,
    End,
    Line,
    Spread,
    Unknown,
    reach_of_share,
    seen_at,
)
from optimiser.science.equilibrium import FormOf, forms, moments
from optimiser.science.roots import falling_root, newton_root

Grams = Mapping[str, Fraction]
Profiles = Mapping[str, ChargeProfile | Unknown]
_ENDS: tuple[End, End, End] = ("low", "middle", "high")

MODEL = Model(
    "pH of the water phase",
    (
        "C. W. Davies, Ion Association, Butterworths 1962 (activity coefficients)",
        "charge balance with the acid constants of each substance at 25 C, sources beside them",
        "powders as a straight line of charge over pH: assumed, to be measured",
    ),
    "15 to 40 C, one water phase, ionic strength below 0.3 mol/kg (0.5 at most), at most 15 % glycols in it",
    "sodium, calcium and magnesium bound by citrate and phosphate (0.13 pH at 0.2 mol/kg sodium); chalk in "
    "clays, slow and losing carbon dioxide; acids not dissolved or held in micelles; fresh lactic acid, part "
    "of it ester",
    Band(Fraction("0.1"), Fraction("0.1"), relative=False),
    "the pH of one trial tells a powder's charge there, that of a second with another dose of acid its slope",
)
MODEL_ERROR = Fraction(1, 10)
"""How far the model itself may be off, pH: what a window is drawn in by, whatever the data leave open."""
READS = Fraction(1, 50)
"""What is left of a window too narrow for that: two steps of a meter that reads to 0.01 pH."""
TRUSTED_STRENGTH, LAST_STRENGTH = 0.3, 0.5
MOST_GLYCOL = 0.15
LEAST_WATER = Fraction(1, 20)
"""Share of water below which there is no phase to speak of: traces in oils and powders (common practice)."""
STRAY, LEAST_BUFFER, MOST_ERROR = 0.0001, 0.001, 2.0
"""Acid or alkali that no table lists, mol/kg (assumed): it moves the pH by STRAY / buffer capacity."""
NO_WATER = "there is no water phase, so there is no pH"
TURNS = "{} turns into acid over hours and counts as turned; fresh the pH is higher: read again after 24 h"
CLOSED = "carbon dioxide counts as kept in; where it escapes the pH rises"


@dataclass(frozen=True, slots=True)
class PhResult:
    """The pH of a mixture, None when it cannot be told; `why` says what limits it, in words.

    `ionic_strength` in mol per kg of water, `buffer_capacity` in mol per kg of water and pH. `model_error` is
    one standard deviation of the model itself in pH, traces in the jar included; what the data leave open is
    `ph_range`.
    """

    ph: float | None
    ionic_strength: float = 0.0
    buffer_capacity: float = 0.0
    valid: bool = False
    why: tuple[str, ...] = ()
    model_error: float = 0.0


Loose = tuple[float, FormOf, float]
"""(amount, forms, how far in pH its constants may be off) of an acid."""


@dataclass(frozen=True, slots=True)
class Open:
    """A substance in the pot whose amount is known from-to: `below` <= 0 <= `above`, in g per g of water.

    One gram of it brings `strong` of net charge and these acids (mmol).
    """

    below: float
    above: float
    strong: float
    acids: tuple[Loose, ...]

    def moved(self, ph: float, drop: float, end: End) -> tuple[float, float]:
        """(charge, buffer capacity) that it brings beside its middle, at one end of its amount."""
        charge, capacity = self.strong, 0.0
        for amount, ready, off in self.acids:
            of_one = moments(ready, seen_at(ph, off, end), drop)
            charge += amount * of_one.mean
            capacity += amount * LN10 * of_one.variance
        by = reach_of_share(charge, self.below, self.above, end)
        return by * charge, by * capacity


@dataclass(frozen=True, slots=True)
class Mixture:
    """All that is in the pot, per gram of water: ready for the arithmetic (mmol, i.e. mol/kg of water).

    The ionic strength is that of the middle amounts: what their spread moves it by is left to the model's
    error (0.02 pH at most on formulas with 20 % spread in 0.1 mol/kg of salt).
    """

    strong: float
    strong_squares: float
    acids: tuple[tuple[float, FormOf], ...]
    powders: tuple[tuple[float, Line], ...]
    water: float
    glycol_share: float
    carbonate: bool
    turning: tuple[str, ...] = ()
    opens: tuple[Open, ...] = ()
    loose: tuple[Loose, ...] = ()

    def dissolved(self, ph: float, strength: float, activity: Activity) -> tuple[float, float, float]:
        """(charge, sum of amount times charge squared, buffer capacity) dissolved, per kg of water."""
        drop = activity.drop(strength)
        acid, alkali = water_ions(ph, drop, activity)
        charge, squares = self.strong + acid - alkali, self.strong_squares + acid + alkali
        capacity = LN10 * (acid + alkali)
        for amount, ready in self.acids:
            of_one = moments(ready, ph, drop)
            charge += amount * of_one.mean
            squares += amount * of_one.square
            capacity += amount * LN10 * of_one.variance
        return charge, squares, capacity

    def balance(self, ph: float, strength: float, activity: Activity, end: End) -> tuple[float, float]:
        """(net charge, buffer capacity = minus its slope over pH), powders and what is not sure included."""
        charge, _, capacity = self.dissolved(ph, strength, activity)
        for amount, ready, off in self.loose if end != "middle" else ():
            here, there = (moments(ready, at, activity.drop(strength)) for at in (ph, seen_at(ph, off, end)))
            charge += amount * (there.mean - here.mean)
            capacity += amount * LN10 * (there.variance - here.variance)
        for one in self.opens if end != "middle" else ():
            more, slope = one.moved(ph, activity.drop(strength), end)
            charge += more
            capacity += slope
        for amount, powder in self.powders:
            taken, slope = powder.at(ph, end)
            charge += amount * taken
            capacity += amount * slope
        return charge, capacity


def water_ions(ph: float, drop: float, activity: Activity) -> tuple[float, float]:
    """H+ and OH- in mol per kg of water at a pH that counts activity."""
    return float(10 ** (drop - ph)), float(10 ** (drop + ph - activity.pkw))


def mix(amounts: Grams, profiles: Profiles) -> Mixture | tuple[str, ...]:
    """The mixture of these grams, or why there is none; sums are exact, so order and scale play no part."""
    present = {name: Fraction(grams) for name, grams in sorted(amounts.items()) if grams > 0}
    known: list[tuple[Fraction, ChargeProfile]] = []
    faults: list[str] = []
    for name, grams in present.items():
        profile = profiles.get(name, Unknown("no data on its charge"))
        if isinstance(profile, Unknown):
            faults.append(f"{name}: {profile.reason}")
        else:
            known.append((grams, profile))
    if faults:
        return tuple(faults)
    water = sum((grams * profile.water for grams, profile in known), Fraction(0))
    if water < LEAST_WATER * sum(present.values(), Fraction(0)) or not water:
        return (NO_WATER,)
    return _per_water(known, water)


def _per_water(known: list[tuple[Fraction, ChargeProfile]], water: Fraction) -> Mixture:
    acids: dict[tuple[tuple[Fraction, ...], int], Fraction] = {}
    loose: dict[Acid, Fraction] = {}
    powders: dict[tuple[tuple[Fraction, ...], tuple[Fraction, ...]], Fraction] = {}
    for grams, profile in known:
        for acid in profile.acids:
            key = (acid.pka, acid.protonated)
            acids[key] = acids.get(key, Fraction(0)) + grams * acid.amount
            if acid.off:
                same = replace(acid, amount=Fraction(1))
                loose[same] = loose.get(same, Fraction(0)) + grams * acid.amount
        for powder in profile.buffers:
            line = (powder.slope, powder.own_ph)
            powders[line] = powders.get(line, Fraction(0)) + grams
    glycol = sum((grams * profile.glycol for grams, profile in known), Fraction(0))
    return Mixture(
        strong=float(sum((g * p.strong_charge for g, p in known), Fraction(0)) / water),
        strong_squares=float(sum((g * p.strong_squares for g, p in known), Fraction(0)) / water),
        acids=tuple(
            (float(amount / water), forms([float(value) for value in pka], top))
            for (pka, top), amount in sorted(acids.items())
        ),
        powders=tuple(
            (float(grams / water), Buffer((slope[0], slope[1], slope[2]), (own[0], own[1], own[2])).ready())
            for (slope, own), grams in sorted(powders.items())
        ),
        water=float(water),
        glycol_share=float(glycol / (glycol + water)),
        carbonate=any(profile.carbonate for _, profile in known),
        turning=tuple(sorted({name for _, profile in known for name in profile.turning})),
        opens=_opens(known, water),
        loose=tuple(sorted((_ready(one, amount / water) for one, amount in loose.items()), key=repr)),
    )


def _ready(acid: Acid, amount: Fraction) -> Loose:
    return float(amount), forms([float(value) for value in acid.pka], acid.protonated), float(acid.off)


def _opens(known: list[tuple[Fraction, ChargeProfile]], water: Fraction) -> tuple[Open, ...]:
    """Spreads of the same substance add up: all of them may lie at the same end."""
    found: dict[tuple[Fraction, tuple[Acid, ...]], list[tuple[Fraction, Spread]]] = {}
    for grams, profile in known:
        for spread in profile.spreads:
            found.setdefault((spread.strong, spread.acids), []).append((grams, spread))
    opens = []
    for (strong, acids), every in found.items():
        ready = tuple(_ready(one, one.amount) for one in acids)
        below, above = (
            float(sum((grams * getattr(one, side) for grams, one in every), Fraction(0)) / water)
            for side in ("below", "above")
        )
        opens.append(Open(below, above, float(strong), ready))
    return tuple(sorted(opens, key=repr))


def solve_ph(
    amounts: Grams, profiles: Profiles, *, end: End = "middle", activity: Activity = DAVIES
) -> PhResult:
    """The pH of a mixture, to 1e-9; `amounts` in grams by ingredient, on any scale.

    `end` takes powders' data and shares at their middle, or where they make the pH lowest or highest.
    """
    mixture = mix(amounts, profiles)
    if isinstance(mixture, tuple):
        return PhResult(None, why=mixture)
    return told(mixture, solve_mixture(mixture, end, activity))


def solve_mixture(mixture: Mixture, end: End, activity: Activity) -> tuple[float, float, float]:
    """(pH, ionic strength, buffer capacity): the root of the balance at the ionic strength it gives itself.

    Asked strength minus given strength is positive at 0 and negative far up, where the coefficients are
    held constant: there is a crossing between.
    """
    guess = 7.0

    def given(strength: float) -> float:
        nonlocal guess
        guess = root_at(mixture, strength, end, activity, guess)
        return mixture.dissolved(guess, strength, activity)[1] / 2

    most = 1.0
    while given(most) > most:
        most *= 2
    strength = falling_root(lambda value: given(value) - value, 0.0, most, 1e-13)
    ph = root_at(mixture, strength, end, activity, guess)
    return ph, strength, mixture.balance(ph, strength, activity, end)[1]


def root_at(mixture: Mixture, strength: float, end: End, activity: Activity, guess: float = 7.0) -> float:
    """The one pH of nought net charge at a fixed ionic strength."""

    def balance(ph: float) -> tuple[float, float]:
        return mixture.balance(ph, strength, activity, end)

    low, high = -2.0, 16.0
    while balance(low)[0] < 0:
        low -= 2
    while balance(high)[0] > 0:
        high += 2
    return newton_root(balance, low, high, guess)


def told(mixture: Mixture, found: tuple[float, float, float]) -> PhResult:
    """The answer in words: `found` is (pH, ionic strength, buffer capacity)."""
    ph, strength, capacity = found
    why = []
    if strength > LAST_STRENGTH:
        why.append(f"too many salts to predict a pH: ionic strength {strength:.2f}, at most {LAST_STRENGTH}")
    elif strength > TRUSTED_STRENGTH:
        why.append(f"many salts: ionic strength {strength:.2f}, above {TRUSTED_STRENGTH} the error grows")
    if mixture.glycol_share > MOST_GLYCOL:
        share = round(100 * mixture.glycol_share)
        why.append(f"{share} % of the water phase is glycols: above 15 % acids turn weaker than predicted")
    if mixture.carbonate:
        why.append(CLOSED)
    if mixture.turning:
        why.append(TURNS.format(" and ".join(mixture.turning)))
    if capacity < LEAST_BUFFER:
        why.append("hardly any buffer: traces of acid or alkali decide the pH")
    valid = strength <= LAST_STRENGTH and mixture.glycol_share <= MOST_GLYCOL
    error = 0.03 if strength <= 0.1 else 0.10 if strength <= TRUSTED_STRENGTH else 0.15
    error = min(error + STRAY / capacity, MOST_ERROR)
    return PhResult(ph, strength, capacity, valid, tuple(why), error)


def kept_off(low: Fraction, high: Fraction, *, dosed: bool) -> Fraction:
    """By how much pH a prediction stays off the ends of a window.

    A pot that is dosed to a reading is brought into the window by the meter, however narrow it is: there the
    model's error is what the adjuster has to reach beyond either end. Nothing corrects any other pot: it has
    to be predicted inside by the error or, in a window too narrow for that, at the middle.
    """
    return MODEL_ERROR if dosed else min(MODEL_ERROR, max((high - low - READS) / 2, Fraction(0)))


def ph_range(
    amounts: Grams, profiles: Profiles, *, activity: Activity = DAVIES
) -> tuple[float, float] | None:
    """The lowest and the highest pH over all values that the data of powders and of shares allow.

    None when it cannot be told. At every pH the charge of a powder lies between its "low" and its "high"
    line, and that of a substance between those of its least and its greatest share, each reached by one value
    of the data; the powders do not enter the ionic strength. Below the root of the low lines the balance is
    positive for all values, so no root lies there.
    """
    mixture = mix(amounts, profiles)
    if isinstance(mixture, tuple):
        return None
    low = solve_mixture(mixture, "low", activity)[0]
    known = not (mixture.powders or mixture.opens or mixture.loose)
    return low, (low if known else solve_mixture(mixture, "high", activity)[0])


def adjuster_curve(
    amounts: Grams,
    profiles: Profiles,
    adjuster: str,
    ceiling: Fraction,
    steps: int,
    *,
    activity: Activity = DAVIES,
) -> tuple[tuple[Fraction, float, float, float], ...]:
    """(grams of adjuster, lowest pH, middle pH, highest pH), from none to `ceiling` grams in `steps` steps.

    The drops go into the pot as it stands in `amounts`, whose own share of the adjuster is left out first.
    Empty when the pH cannot be told.
    """
    rows = []
    for step in range(steps + 1):
        grams = ceiling * step / steps
        mixture = mix({**amounts, adjuster: grams}, profiles)
        if isinstance(mixture, tuple):
            return ()
        low, middle, high = (solve_mixture(mixture, end, activity)[0] for end in _ENDS)
        rows.append((grams, low, middle, high))
    return tuple(rows)
