"""How the forms of an acid share out at a pH: mean charge, mean square of charge, spread.

The weight of the form that lost k protons is 10^(k pH - sum pKa_1..k + drop (z_k^2 - z_0^2)), the last term
being the Davies correction of the mixed constants. So, with ln10 left out:
d<z>/d pH = -Var(z), d<z>/d drop = Cov(z, z^2), d<z^2>/d drop = Var(z^2).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

FormOf = tuple[tuple[float, ...], tuple[int, ...]]
"""(running sums of pKa from 0, charges): one acid, ready for the arithmetic."""


@dataclass(frozen=True, slots=True)
class Moments:
    """`mean` charge, `square` mean of charge squared, `variance` of the charge: per mole of the acid."""

    mean: float
    square: float
    variance: float


def forms(pka: Sequence[float], protonated: int) -> FormOf:
    """The sums and charges of an acid with these constants."""
    sums = [0.0]
    for constant in pka:
        sums.append(sums[-1] + constant)
    return tuple(sums), tuple(protonated - lost for lost in range(len(sums)))


def weights(acid: FormOf, ph: float, drop: float) -> list[float]:
    """Share of each form, the one with every proton first; they sum to 1."""
    sums, charges = acid
    first = charges[0] ** 2
    logs = [
        lost * ph - total + drop * (charge**2 - first)
        for lost, (total, charge) in enumerate(zip(sums, charges, strict=True))
    ]
    most = max(logs)
    raw: list[float] = [10.0 ** (value - most) for value in logs]
    whole = sum(raw)
    return [value / whole for value in raw]


def moments(acid: FormOf, ph: float, drop: float) -> Moments:
    """Of the charge, at a pH and `drop` = -log10 of the coefficient of a single charge."""
    shares = weights(acid, ph, drop)
    mean = sum(share * charge for share, charge in zip(shares, acid[1], strict=True))
    square = sum(share * charge**2 for share, charge in zip(shares, acid[1], strict=True))
    variance = sum(share * (charge - mean) ** 2 for share, charge in zip(shares, acid[1], strict=True))
    return Moments(mean, square, variance)
