"""A small worktable for pH: clays as buffers, preservatives as salts, acids and alkalis to dose.

Constants of the substances are the published ones; the numbers of the clays are invented.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Literal, cast

from optimiser.domain.formula import Dosed, Formula, Line, Phase
from optimiser.domain.ingredient import Figure, Ingredient, Pack, Part, Way
from optimiser.domain.product import Product
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity, Rule
from optimiser.loading.reference import load_substances
from optimiser.lp.build import build
from tests.points import rows_hold
from tests.small import fr, head

Status = Literal["measured", "assumed"]
SUBSTANCES = {
    name: substance
    for name, substance in load_substances().items()
    if any(word in name for word in ("citr", "lact", "sorb", "benzo", "sodium hydroxide", "aqua", "glycerin"))
}


def ranged(text: str, unit: str = "", status: Status = "measured") -> Figure:
    """A figure from "low middle high"."""
    low, middle, high = (fr(word) for word in text.split())
    return Figure(middle, low, high, unit, "invented", status)


def made_of(name: str, group: str, roles: str = "bulking", kind: str = "", **parts: str) -> Ingredient:
    """An ingredient of these substances (their names with _ for a blank), in % w/w."""
    composition = tuple(
        Part(substance.replace("_", " "), fr(share), fr(share), fr(share))
        for substance, share in parts.items()
    )
    return Ingredient(
        id=name,
        name=name.title(),
        inci=composition[0].substance,
        kind=kind or group,
        group=group,
        roles=tuple(roles.split()),
        pack=Pack(Fraction(1000), Fraction(5)),
        composition=composition,
        way=Way("water", "stir in"),
    )


def clay(name: str, slope: str, own_ph: str, status: Status = "measured") -> Ingredient:
    plain = made_of(name, "clay", Kaolin="100")
    figures = {
        "buffer_slope": ranged(slope, "meq/g", status),
        "powder_ph": ranged(own_ph, "", status),
        "water_content": ranged("0 0 0", "%"),
    }
    return replace(plain, figures=figures)


TABLE = {
    i.id: i
    for i in (
        made_of("water", "water", "solvent", Aqua="100"),
        clay("kaolin", "0.004 0.01 0.02", "4.5 5.5 6.5"),
        clay("bentonite", "0.03 0.06 0.1", "8.5 9.3 10"),
        made_of("benzoate", "preservative", "preservative", "preservative-acid", Sodium_Benzoate="100"),
        made_of("sorbate", "preservative", "preservative", "preservative-acid", Potassium_Sorbate="100"),
        made_of("citric", "acid", "acid-adjuster", Citric_Acid="20", Aqua="80"),
        made_of("lactic", "acid", "acid-adjuster", Lactic_Acid="80", Aqua="20"),
        made_of("lye", "alkali", "alkali-adjuster", Sodium_Hydroxide="10", Aqua="90"),
        made_of("lactate", "humectant", "buffering", Sodium_Lactate="60", Aqua="40"),
        made_of("citrate", "chelator", "buffering", Sodium_Citrate="100"),
        made_of("salt", "salt", "viscosity-controlling", Sodium_Chloride="100"),
        made_of("glycerin", "polyol", "humectant", Glycerin="100"),
    )
}
BASE: Mapping[str, str] = {"kaolin": "12", "bentonite": "3", "benzoate": "0.4", "sorbate": "0.3"}


def world(
    rules: Iterable[Rule],
    base: Mapping[str, str | Fraction] = BASE,
    dosed: Mapping[str, str | Fraction] | None = None,
    table: Mapping[str, Ingredient] = TABLE,
    come: Iterable[str] = (),
) -> Request:
    """One phase; `dosed` lines stand at their ceiling, `come` may come, water makes up 100 %."""
    ceilings = {name: Fraction(share) for name, share in (dosed or {}).items()}
    shares = {**{name: Fraction(share) for name, share in base.items()}, **ceilings}
    lines = [Line("water", 100 - sum(shares.values(), Fraction(0)), fills=True)]
    lines += [
        Line(name, share, dosed=Dosed("pH 5") if name in ceilings else None)
        for name, share in sorted(shares.items())
    ]
    formula = Formula("sour", "Sour", Product("rinse-off"), (Phase("B", "", tuple(lines)),), fr(250))
    new = sorted(set(come) - set(shares))
    slots = tuple(Slot(name, "B") for name in ("water", *sorted(shares), *new))
    fixed = {Slot(name, "B"): share for name, share in ceilings.items()}
    return Request(
        name="sour",
        formula=formula,
        product=formula.product,
        ingredients={slot.ingredient: table[slot.ingredient] for slot in slots},
        slots=slots,
        base={Slot(line.ingredient, "B"): line.percent for line in lines},
        filler=Slot("water", "B"),
        fixed=fixed,
        dosed={slot: Dosed("pH 5") for slot in fixed},
        newcomers=frozenset(new),
        rules=tuple(sorted(rules, key=lambda rule: rule.head.id)),
        pulls=(),
        aim=("closest",),
        currency="EUR",
        batch_g=fr(250),
        ph_window=(fr("4.5"), fr("5.5")),
        substances=SUBSTANCES,
    )


def window(
    low: Fraction | str, high: Fraction | str, adjusters: Iterable[str] = (), *, worst: bool = True
) -> Acidity:
    made = replace(head("ph"), basis=cast("Literal['safety']", "safety" if worst else "character"))
    return Acidity(made, Fraction(low), Fraction(high), True, tuple(sorted(adjusters)))


def rows_kept(
    asked: Request, shares: Mapping[Slot, Fraction], *, lenient: bool, rule: str = "test#ph"
) -> bool:
    """Whether the rule's rows hold at the point for some value of its helper variables."""
    rows = [row for row in build(asked, lenient=lenient).rows if row.rule == rule]
    return rows_hold(rows, asked, shares)


def at_values(
    table: Mapping[str, Ingredient], parts: Iterable[tuple[str, Fraction, Fraction]]
) -> dict[str, Ingredient]:
    """The table with clays known exactly: (name, part of the range of the slope, of the own pH), 0 to 1."""
    found = dict(table)
    for name, of_slope, of_own in parts:
        figures = dict(table[name].figures)
        for key, part in (("buffer_slope", of_slope), ("powder_ph", of_own)):
            figure = figures[key]
            value = figure.low + (figure.high - figure.low) * part
            figures[key] = replace(figure, value=value, low=value, high=value)
        found[name] = replace(table[name], figures=figures)
    return found


def corners(
    names: Iterable[str], parts: Iterable[str]
) -> Iterable[tuple[tuple[str, Fraction, Fraction], ...]]:
    """Every choice of parts of the ranges for these clays."""
    steps = [Fraction(part) for part in parts]
    names = tuple(names)
    for chosen in itertools.product(itertools.product(steps, steps), repeat=len(names)):
        yield tuple((name, *pair) for name, pair in zip(names, chosen, strict=True))
