"""How far the pH of a linear optimum lies outside the window its rows were written for.

Random mixtures of 5 to 10 out of 17 ingredients, random costs, at least 55 % water, a window 0.2 to 0.6
wide between pH 3.6 and 7.2, ionic strength capped by a linear row. `python -m tests.benchmarks.linear_ph 600`
prints the table for each way of writing the rows.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.loading.reference import load_substances
from optimiser.model.rows import Model, Row, Var, linear
from optimiser.science.acidity import PhResult, solve_ph
from optimiser.science.acidity_rows import (
    charge_bounds_per_gram,
    charge_per_gram,
    inner_levels,
    ion_strength_bounds_per_gram,
    ion_strength_per_gram,
)
from optimiser.science.activity import DAVIES, IDEAL, Activity
from optimiser.science.charge import Buffer, ChargeProfile
from optimiser.science.profiles import profile_of
from optimiser.solver.highs import solve_lp
from tests.solutions import part

MADE_OF: dict[str, tuple[tuple[str, int], ...]] = {
    "citric-acid": (("Citric Acid", 100),),
    "lactic-acid-80": (("Lactic Acid", 80), ("Aqua", 20)),
    "glycolic-acid-70": (("Glycolic Acid", 70), ("Aqua", 30)),
    "malic-acid": (("Malic Acid", 100),),
    "tartaric-acid": (("Tartaric Acid", 100),),
    "sodium-hydroxide-10": (("Sodium Hydroxide", 10), ("Aqua", 90)),
    "triethanolamine": (("Triethanolamine", 100),),
    "arginine": (("Arginine", 100),),
    "tromethamine": (("Tromethamine", 100),),
    "sodium-benzoate": (("Sodium Benzoate", 100),),
    "potassium-sorbate": (("Potassium Sorbate", 100),),
    "sodium-dehydroacetate": (("Sodium Dehydroacetate", 100),),
    "sodium-citrate": (("Sodium Citrate", 100),),
    "sodium-chloride": (("Sodium Chloride", 100),),
}
POWDERS = {"kaolin": ("0.01", "5.8"), "bentonite": ("0.06", "10"), "green-clay": ("0.3", "8.3")}
MOST = {"kaolin": 30, "bentonite": 10, "green-clay": 10, "sodium-chloride": 2, "water": 100}


def profiles() -> dict[str, ChargeProfile]:
    """The 17 ingredients and water."""
    found: dict[str, ChargeProfile] = {"water": ChargeProfile(water=Fraction(1))}
    for name, parts in MADE_OF.items():
        made = profile_of([part(substance, share) for substance, share in parts], load_substances(), {})
        assert isinstance(made, ChargeProfile)
        found[name] = made
    for name, (slope, own_ph) in POWDERS.items():
        line, own = Fraction(slope), Fraction(own_ph)
        found[name] = ChargeProfile(buffers=(Buffer((line, line, line), (own, own, own)),))
    return found


@dataclass(frozen=True, slots=True)
class Programme:
    """One random request: its ingredients with their least and most share, costs, window and cap."""

    names: tuple[str, ...]
    least: tuple[Fraction, ...]
    most: tuple[Fraction, ...]
    cost: tuple[Fraction, ...]
    low: Fraction
    high: Fraction
    cap: Fraction


def programme(seed: int, cap: Fraction) -> Programme:
    dice = random.Random(seed)
    names = sorted(dice.sample([*MADE_OF, *POWDERS], dice.randint(5, 10)))
    width, low = dice.randint(20, 60), dice.randint(360, 660)
    most = [Fraction(dice.randint(1, 10 * MOST.get(name, 3)), 10) for name in names]
    least = [m / dice.randint(2, 10) if dice.random() < 0.3 else Fraction(0) for m in most]
    cost = [Fraction(round(1000 * dice.gauss(0, 1)), 1000) for _ in range(len(names) + 1)]
    return Programme(
        ("water", *names),
        (Fraction(55), *least),
        (Fraction(100), *most),
        tuple(cost),
        Fraction(low, 100),
        Fraction(low + width, 100),
        cap,
    )


def inner(
    asked: Programme, known: dict[str, ChargeProfile], levels: Sequence[Fraction], activity: Activity
) -> Model:
    """The request with the pH rows at each of `levels`, and the strength capped at both ends."""
    rows = []
    for number, level in enumerate(levels):
        foot = {
            n: charge_per_gram(known[n], asked.low, level, rounding="down", activity=activity)
            for n in asked.names
        }
        top = {
            n: charge_per_gram(known[n], asked.high, level, rounding="up", activity=activity)
            for n in asked.names
        }
        rows += [
            Row(f"foot{number}", linear(foot), Fraction(0), None),
            Row(f"top{number}", linear(top), None, Fraction(0)),
        ]
    for name, ph in (("cap_low", asked.low), ("cap_high", asked.high)):
        strength = {n: ion_strength_per_gram(known[n], ph) - asked.cap * known[n].water for n in asked.names}
        rows.append(Row(name, linear(strength), None, Fraction(0)))
    return _with_rows(asked, rows)


def outer(asked: Programme, known: dict[str, ChargeProfile]) -> Model:
    """The request with rows that every mixture with its pH in the window and a strength below 0.5 meets."""
    foot = {n: charge_bounds_per_gram(known[n], asked.low)[1] for n in asked.names}
    top = {n: charge_bounds_per_gram(known[n], asked.high)[0] for n in asked.names}
    strength = {
        n: ion_strength_bounds_per_gram(known[n], asked.low, asked.high)[0] - known[n].water / 2
        for n in asked.names
    }
    rows = [
        Row("foot", linear(foot), Fraction(0), None),
        Row("top", linear(top), None, Fraction(0)),
        Row("cap", linear(strength), None, Fraction(0)),
    ]
    return _with_rows(asked, rows)


def _with_rows(asked: Programme, rows: list[Row]) -> Model:
    variables = tuple(
        Var(name, low, high) for name, low, high in zip(asked.names, asked.least, asked.most, strict=True)
    )
    total = Row("total", linear(dict.fromkeys(asked.names, Fraction(1))), Fraction(100), Fraction(100))
    cost = linear(dict(zip(asked.names, asked.cost, strict=True)))
    return Model("ph", variables, (total, *rows), cost)


def optimum(model: Model) -> dict[str, Fraction] | None:
    """The optimal shares, or None."""
    found = solve_lp(model)
    if not found.has_values:
        return None
    return {name: max(Fraction(value), Fraction(0)) for name, value in found.values.items()}


def violation(asked: Programme, found: PhResult) -> float:
    """How far the pH lies outside the window."""
    assert found.ph is not None
    return max(float(asked.low) - found.ph, found.ph - float(asked.high), 0.0)


VARIANTS: dict[str, tuple[Activity, bool]] = {
    "ideal": (IDEAL, False),
    "one": (DAVIES, False),
    "three": (DAVIES, True),
}
"""Constants without activity; rows at an ionic strength of 0.1 alone; rows at the three inner levels."""


def run(count: int, cap: Fraction, variant: str) -> list[float]:
    """Violations of the first `count` programmes, those without an answer left out."""
    known, found = profiles(), []
    activity, three = VARIANTS[variant]
    for seed in range(count):
        asked = programme(seed, cap)
        levels = inner_levels(cap) if three else (Fraction(1, 10),)
        shares = optimum(inner(asked, known, levels, activity))
        if shares is not None:
            found.append(violation(asked, solve_ph(shares, known)))
    return found


def main(count: int) -> None:
    for cap in (Fraction(1, 10), Fraction(3, 10), Fraction(1, 2)):
        for variant in VARIANTS:
            found = sorted(run(count, cap, variant))
            off = sum(value > 0.01 for value in found) / len(found)
            sys.stdout.write(
                f"cap {float(cap)} {variant:5} {len(found):4} solved: mean {sum(found) / len(found):.2g}, "
                f"95 % {found[int(0.95 * len(found))]:.2g}, most {found[-1]:.2g}, above 0.01 {off:.3f}\n"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 600)
