"""Whether some dose reaches the pH window with the numbers drawn: by the sign of the charge at its ends.

Net charge falls as pH rises, so a pot's pH is at or above a reading exactly where its charge there, at the
ionic strength it gives itself, is not below nought. That takes a few sums where the root takes hundreds.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.drawing import Numbers, Values
from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.request import Request
from optimiser.domain.rules import Acidity
from optimiser.science.acidity import Mixture, kept_off
from optimiser.science.activity import DAVIES
from optimiser.science.charge import Acid, ChargeProfile, Unknown
from optimiser.science.equilibrium import forms
from optimiser.science.formula import profile_for
from optimiser.science.profiles import profile_of

ROUNDS = 3
FIRST_STRENGTH = 0.1
STRONG, SQUARES, WATER = 0, 1, 2
AcidKey = tuple[tuple[Fraction, ...], int]


@dataclass(frozen=True, slots=True)
class _Line:
    """One gram of a line: [strong charge, its squares, water, acids …], what drawn shares add, its powder."""

    base: tuple[float, ...]
    moving: tuple[tuple[int, float, tuple[float, ...]], ...]
    powder: tuple[int, int] | None
    steady: tuple[float, float]


class Window:
    """Ready to say of shares and numbers drawn whether the window of a predicted rule is reached."""

    def __init__(
        self, rule: Acidity, lines: Sequence[Ingredient], request: Request, numbers: Numbers
    ) -> None:
        whole = [profile_for(one, request.substances) for one in lines]
        units = [_units(one, request, numbers) for one in lines]
        self.known = all(isinstance(profile, ChargeProfile) for profile in whole)
        known = [p if isinstance(p, ChargeProfile) else ChargeProfile() for p in whole]
        keys = _keys([*known, *(unit for every in units for _, _, unit in every)])
        self._forms = [forms([float(value) for value in pka], top) for pka, top in keys]
        self._lines = [
            _line(one, profile, unit, keys, numbers)
            for one, profile, unit in zip(lines, known, units, strict=True)
        ]
        off = kept_off(rule.low, rule.high, dosed=bool(rule.adjusters))
        self._foot, self._top = float(rule.low + off), float(rule.high - off)
        dosed = [i for i, one in enumerate(lines) if one.id in rule.adjusters]
        sets = (set(some) for n in range(len(dosed) + 1) for some in itertools.combinations(dosed, n))
        self._pots = [[i for i in range(len(lines)) if i not in out] for out in sets]

    def reached(self, shares: Sequence[float], values: Values) -> bool:
        pots = [self._pot(pot, shares, values) for pot in self._pots]
        return any(_charge(*pot, self._foot) >= 0 for pot in pots) and any(
            _charge(*pot, self._top) <= 0 for pot in pots
        )

    def _pot(
        self, pot: Sequence[int], shares: Sequence[float], values: Values
    ) -> tuple[Mixture, list[tuple[float, float, float]]]:
        """The mixture per gram of water, and its powders as (amount, slope, own pH)."""
        total = [0.0] * (len(self._forms) + 3)
        powders = []
        for i in pot:
            line, share = self._lines[i], shares[i]
            for at, amount in enumerate(line.base):
                total[at] += share * amount
            for number, middle, unit in line.moving:
                more = share * (values[number] - middle) / 100
                for at, amount in enumerate(unit):
                    total[at] += more * amount
            if line.powder is not None:
                slope, own = (
                    values[n] if n >= 0 else s for n, s in zip(line.powder, line.steady, strict=True)
                )
                powders.append((share, slope, own))
        water = total[WATER]
        acids = tuple((amount / water, ready) for amount, ready in zip(total[3:], self._forms, strict=True))
        made = Mixture(total[STRONG] / water, total[SQUARES] / water, acids, (), 1.0, 0.0, carbonate=False)
        return made, [(share / water, slope, own) for share, slope, own in powders]


def _charge(mixture: Mixture, powders: Sequence[tuple[float, float, float]], ph: float) -> float:
    strength = FIRST_STRENGTH
    for _ in range(ROUNDS):
        charge, squares, _ = mixture.dissolved(ph, strength, DAVIES)
        strength = squares / 2
    charge = mixture.dissolved(ph, strength, DAVIES)[0]
    return charge + sum(amount * slope * (own - ph) for amount, slope, own in powders)


def _units(one: Ingredient, request: Request, numbers: Numbers) -> list[tuple[int, float, ChargeProfile]]:
    """(number, middle, what one gram brings) of every part whose share has a spread and counts here."""
    whole = profile_for(one, request.substances)
    if isinstance(whole, Unknown) or whole.buffers:
        return []
    found = []
    for index, part in enumerate(one.composition or ()):
        pure = profile_of((_pure(part),), request.substances, {})
        if part.low == part.high or isinstance(pure, Unknown):
            continue
        if one.figure("water_content") is not None:
            pure = ChargeProfile(ions=pure.ions, acids=pure.acids)
        counts = whole.acids or whole.ions or whole.spreads or pure.water
        if counts and (pure.acids or pure.ions or pure.water):
            at = numbers.place((one.id, "part", str(index)), part.low, part.value, part.high)
            found.append((at, float(part.value), pure))
    return found


def _pure(part: Part) -> Part:
    return Part(part.substance, Fraction(100), Fraction(100), Fraction(100))


def _keys(profiles: Sequence[ChargeProfile]) -> list[AcidKey]:
    return sorted({_key(acid) for profile in profiles for acid in profile.acids})


def _key(acid: Acid) -> AcidKey:
    return acid.pka, acid.protonated


def _line(
    one: Ingredient,
    profile: ChargeProfile,
    units: list[tuple[int, float, ChargeProfile]],
    keys: list[AcidKey],
    numbers: Numbers,
) -> _Line:
    powder, steady = None, (0.0, 0.0)
    if profile.buffers:
        places = []
        for name in ("buffer_slope", "powder_ph"):
            figure = one.figures[name]
            wide = figure.low != figure.high
            key = (one.id, "figure", name)
            places.append(numbers.place(key, figure.low, figure.value, figure.high) if wide else -1)
        powder = places[0], places[1]
        steady = float(one.figures["buffer_slope"].value), float(one.figures["powder_ph"].value)
    moving = tuple((at, middle, _vector(unit, keys)) for at, middle, unit in units)
    return _Line(_vector(profile, keys), moving, powder, steady)


def _vector(profile: ChargeProfile, keys: list[AcidKey]) -> tuple[float, ...]:
    acids = dict.fromkeys(keys, 0.0)
    for acid in profile.acids:
        acids[_key(acid)] += float(acid.amount)
    return (
        float(profile.strong_charge),
        float(profile.strong_squares),
        float(profile.water),
        *(acids[key] for key in keys),
    )
