"""How the forms of an acid share out at a pH: mean charge, mean square of charge, spread.

The weight of the form that lost k protons is 10^(k pH - sum pKa_1..k + drop (z_k^2 - z_0^2)), the last term
being the Davies correction of the mixed constants. So, with ln10 left out:
d<z>/d pH = -Var(z), d<z>/d drop = Cov(z, z^2), d<z^2>/d drop = Var(z^2).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Form:
    """One form of an acid: protons lost, its constant (log10), and what the drop of the coefficients adds.

    `charge` is that of the acid's own part, `net` of the whole particle: they differ where it holds an ion.
    """

    lost: int
    constant: float
    charge: int
    net: int
    shift: int


FormOf = tuple[Form, ...]
"""All forms of one acid, ready for the arithmetic."""


@dataclass(frozen=True, slots=True)
class Moments:
    """`mean` charge, `square` mean of charge squared, `variance` of the charge: per mole of the acid."""

    mean: float
    square: float
    variance: float


def forms(pka: Sequence[float], protonated: int) -> FormOf:
    """The forms of an acid with these constants, the one with every proton first."""
    found, total = [], 0.0
    for lost, constant in enumerate((0.0, *pka)):
        total -= constant
        charge = protonated - lost
        found.append(Form(lost, total, charge, charge, charge**2 - protonated**2))
    return tuple(found)


def holding(form: Form, log_k: float, log_free: float) -> Form:
    """The form with one ion of charge +1 held: `log_k` at zero ionic strength, `log_free` of the free ion."""
    net = form.net + 1
    return Form(
        form.lost,
        form.constant + log_k + log_free,
        form.charge,
        net,
        form.shift + net**2 - form.net**2 - 1,
    )


def weights(acid: FormOf, ph: float, drop: float) -> list[float]:
    """Share of each form, in the order of the forms; they sum to 1."""
    logs = [form.lost * ph + form.constant + drop * form.shift for form in acid]
    most = max(logs)
    raw: list[float] = [10.0 ** (value - most) for value in logs]
    whole = sum(raw)
    return [value / whole for value in raw]


def moments(acid: FormOf, ph: float, drop: float) -> Moments:
    """Of the charge, at a pH and `drop` = -log10 of the coefficient of a single charge."""
    shares = weights(acid, ph, drop)
    mean = square = variance = 0.0
    for share, form in zip(shares, acid, strict=True):
        mean += share * form.charge
        square += share * form.net**2
    for share, form in zip(shares, acid, strict=True):
        variance += share * (form.charge - mean) ** 2
    return Moments(mean, square, variance)
