"""Solutions of listed acids and bases, in mol per kg of water."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.ingredient import Figure, Part
from optimiser.loading.reference import load_substances
from optimiser.science.acidity import PhResult, solve_ph
from optimiser.science.activity import DAVIES, Activity
from optimiser.science.charge import Acid, ChargeProfile, Ion

Amount = str | int | Fraction


def acid(name: str, amount: Amount) -> Acid:
    """`amount` of a listed acid or base, all its forms together."""
    substance = load_substances()[name]
    assert substance.pka
    assert substance.charge
    top = substance.charge if substance.charge > 0 else substance.charge + len(substance.pka)
    return Acid(substance.name, Fraction(amount), substance.pka, top)


def solution(
    acids: Mapping[str, Amount], strong: Amount = 0, salt: Amount = 0, charge: int = 1
) -> ChargeProfile:
    """Acids with `strong` of sodium (of chloride where negative) and `salt` of a strong 1:1 salt."""
    net = Fraction(strong)
    ions = [Ion("Na+" if net > 0 else "Cl-", charge if net > 0 else -charge, abs(net))] if net else []
    if Fraction(salt):
        ions += [Ion("Na+", 1, Fraction(salt)), Ion("Cl-", -1, Fraction(salt))]
    return ChargeProfile(
        ions=tuple(ions),
        acids=tuple(acid(name, amount) for name, amount in acids.items()),
        water=Fraction(1),
    )


def solved(profile: ChargeProfile, activity: Activity = DAVIES) -> PhResult:
    return solve_ph({"solution": Fraction(100)}, {"solution": profile}, activity=activity)


def ph_of(profile: ChargeProfile, activity: Activity = DAVIES) -> float:
    ph = solved(profile, activity).ph
    assert ph is not None
    return ph


def part(substance: str, share: Amount) -> Part:
    """A substance at `share` % of an ingredient."""
    value = Fraction(share)
    return Part(substance, value, value, value)


def figure(low: Amount, value: Amount, high: Amount, unit: str = "") -> Figure:
    return Figure(Fraction(value), Fraction(low), Fraction(high), unit, "invented")
