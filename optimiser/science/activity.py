"""Activity coefficients of ions in water at 25 C (Davies).

C. W. Davies, Ion Association, Butterworths 1962: log g = -A z^2 (sqrt(I)/(1 + sqrt(I)) - b I) with b = 0.3;
A = 0.5092 kg^(1/2) mol^(-1/2) for water at 25 C; pKw = 13.995 (CODATA; Harned & Owen; from memory).
Good to 0.03 pH in dilute buffers and to 0.1 pH up to an ionic strength of 0.3 mol/kg; not meant beyond 0.5.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, sqrt

LN10 = log(10)
CLAMP = 1.0
"""Above this ionic strength (mol/kg) the coefficients stay as they are: the formula turns upward there."""


@dataclass(frozen=True, slots=True)
class Activity:
    """log10 of an activity coefficient is -charge^2 * `drop(I)`; `pkw` is that of water at zero I."""

    a: float
    b: float
    pkw: float

    def drop(self, ionic_strength: float) -> float:
        """-log10 of the coefficient of a single charge; `ionic_strength` in mol/kg, from 0."""
        strength = min(max(ionic_strength, 0.0), CLAMP)
        root = sqrt(strength)
        return self.a * (root / (1 + root) - self.b * strength)

    def log_gamma(self, charge: int, ionic_strength: float) -> float:
        """log10 of the activity coefficient of an ion."""
        return -charge * charge * self.drop(ionic_strength)

    def mixed_pka(self, pka: float, acid_charge: int, ionic_strength: float) -> float:
        """pKa for a pH that counts activity and for acid and base that count amounts.

        pK' = pK + log g(base) - log g(acid); `acid_charge` is that of the form with the proton.
        """
        base = self.log_gamma(acid_charge - 1, ionic_strength)
        return pka + base - self.log_gamma(acid_charge, ionic_strength)

    def turning_strength(self) -> float:
        """The ionic strength (mol/kg) of the greatest `drop`: where 2 b sqrt(I) (1 + sqrt(I))^2 = 1."""
        if not self.b:
            return CLAMP
        low, high = 0.0, sqrt(CLAMP)
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (middle, high) if 2 * self.b * middle * (1 + middle) ** 2 < 1 else (low, middle)
        return low * low

    def most_drop(self, upto: float) -> float:
        """The largest `drop` over 0 <= I <= `upto`: it rises to the turning strength and falls beyond."""
        return self.drop(min(upto, self.turning_strength()))


DAVIES = Activity(0.5092, 0.3, 13.995)
IDEAL = Activity(0.0, 0.0, 13.995)
"""All coefficients 1: to compare with, never to predict with."""
