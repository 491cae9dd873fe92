"""A small worktable in Python: a clay mask and what could stand in it. All numbers are invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import cast

from optimiser.domain.brief import Aim
from optimiser.domain.formula import Formula, Line, Phase
from optimiser.domain.ingredient import Figure, FlagState, Ingredient, Pack, Part, Way
from optimiser.domain.product import Product
from optimiser.domain.request import Pull, Request, Slot
from optimiser.domain.rules import Absent, Covers, Head, Legal, Level, Rule, Share, UseRange
from optimiser.domain.selector import Pick


def fr(text: str | int) -> Fraction:
    return Fraction(str(text))


def figure(text: str, unit: str = "", spread: str = "0", status: str = "invented") -> Figure:
    value, by = fr(text), fr(spread)
    return Figure(value, value * (1 - by), value * (1 + by), unit, "invented", cast("object", status))  # type: ignore[arg-type]


def ingredient(
    name: str,
    kind: str,
    group: str,
    price: str,
    *,
    roles: str = "bulking",
    flags: Mapping[str, FlagState] | None = None,
    use: tuple[str | None, str | None] = (None, None),
    holds: str = "range",
    inci: str = "",
    **figures: str,
) -> Ingredient:
    inci = inci or name.title()
    return Ingredient(
        id=name,
        name=name.title(),
        inci=inci,
        kind=kind,
        group=group,
        roles=tuple(roles.split()),
        use_min=None if use[0] is None else fr(use[0]),
        use_max=None if use[1] is None else fr(use[1]),
        pack=Pack(Fraction(1000), fr(price)),
        flags=flags or {},
        holds="must" if holds == "must" else "range",
        figures={key: figure(value) for key, value in figures.items()},
        composition=(Part(inci, Fraction(100), Fraction(100), Fraction(100)),),
        way=Way("water", "stir in"),
    )


STRONG: Mapping[str, FlagState] = {"strong-clay": "contains"}
MILD: Mapping[str, FlagState] = {"strong-clay": "free"}

INGREDIENTS = {
    i.id: i
    for i in (
        ingredient(
            "water", "water", "water", "0.5", roles="solvent", flags=MILD, solids="0", water_content="100"
        ),
        ingredient(
            "kaolin", "clay-plain", "clay", "4", roles="absorbent", flags=MILD, use=("1", "40"), solids="99"
        ),
        ingredient(
            "bentonite",
            "clay-swelling",
            "clay",
            "5",
            roles="absorbent viscosity-controlling",
            flags=STRONG,
            use=("1", "10"),
            solids="92",
            thickening="0.05",
        ),
        ingredient(
            "illite", "clay-plain", "clay", "9", roles="absorbent", flags=MILD, use=("1", "40"), solids="98"
        ),
        ingredient(
            "xanthan",
            "gum-anionic",
            "gum",
            "20",
            roles="viscosity-controlling",
            flags=MILD,
            use=("0.1", "1"),
            solids="90",
            thickening="1",
        ),
        ingredient(
            "konjac",
            "gum-nonionic",
            "gum",
            "30",
            roles="viscosity-controlling",
            flags=MILD,
            use=("0.1", "1"),
            solids="90",
            thickening="3",
        ),
        ingredient(
            "glycerin", "polyol", "polyol", "3", roles="humectant", flags=MILD, use=("1", "20"), solids="0"
        ),
        ingredient(
            "benzoate",
            "preservative-acid",
            "preservative",
            "6",
            roles="preservative",
            flags=MILD,
            use=("0.1", "1"),
            holds="must",
            inci="Sodium Benzoate",
            solids="100",
            least_dose_yeast="0.4",
            least_dose_mould="0.4",
            ph_works_max="5.5",
        ),
        ingredient(
            "sorbate",
            "preservative-acid",
            "preservative",
            "8",
            roles="preservative",
            flags=MILD,
            use=("0.1", "0.8"),
            holds="must",
            solids="100",
            least_dose_bacteria="0.3",
            least_dose_mould="0.3",
            ph_works_max="5.8",
        ),
        ingredient("mystery", "clay-plain", "clay", "1", roles="absorbent", use=("1", "40"), solids="99"),
    )
}

FORMULA = Formula(
    id="mask",
    name="Small mask",
    product=Product("rinse-off"),
    batch_g=Fraction(250),
    phases=(
        Phase("A", "Gum", (Line("glycerin", fr(5)), Line("xanthan", fr("0.4")))),
        Phase(
            "B",
            "Water",
            (
                Line("water", fr("71.8"), fills=True),
                Line("benzoate", fr("0.45")),
                Line("sorbate", fr("0.35")),
                Line("kaolin", fr(16)),
                Line("bentonite", fr(6)),
            ),
        ),
    ),
)


def head(name: str, sentence: str = "", basis: str = "character", rank: int | None = None) -> Head:
    return Head(f"test#{name}", sentence or f"{name} holds.", "test", basis=cast("object", basis), rank=rank)  # type: ignore[arg-type]


CLAY = Share(head("clay"), Pick("kind", "clay"), fr(20), fr(26))
THICK = Level(head("thick"), "thickening", fr("0.63"), fr("0.77"))
NO_STRONG = Absent(head("no strong clay"), Pick("flag", "strong-clay"))
COVERS = tuple(
    Covers(head(f"covers-{g}", basis="safety"), g, fr("5.5")) for g in ("bacteria", "yeast", "mould")
)
LAW = Legal(head("law", basis="law"), (("Sodium Benzoate", fr("0.84746")),), fr("0.5"))


def ranges() -> tuple[Rule, ...]:
    return tuple(
        UseRange(head(f"range-{i.id}", basis="house"), i.id, i.use_min, i.use_max)
        for i in INGREDIENTS.values()
        if i.use_max is not None
    )


def request(*rules: Rule, aim: tuple[Aim, ...] = ("closest",), formula: Formula = FORMULA) -> Request:
    """The mask with these rules besides supplier's ranges, coverage and the law."""
    base = {Slot(line.ingredient, phase): line.percent for phase, line in formula.lines}
    newcomers = sorted(set(INGREDIENTS) - formula.ingredients)
    slots = (*base, *(Slot(i, "A" if INGREDIENTS[i].group == "gum" else "B") for i in newcomers))
    pulls = (
        Pull("share of clay", Share(head("pull"), Pick("group", "clay")), fr(22), fr("2.2")),
        Pull("level of thickening", Level(head("pull"), "thickening"), fr("0.7"), fr("0.07")),
    )
    return Request(
        name="test",
        formula=formula,
        product=formula.product,
        ingredients=INGREDIENTS,
        slots=slots,
        base=base,
        filler=Slot("water", "B"),
        fixed={},
        dosed={},
        newcomers=frozenset(newcomers),
        rules=tuple(sorted((*rules, *ranges(), *COVERS, LAW), key=lambda r: r.head.id)),
        pulls=pulls,
        aim=aim,
        currency="EUR",
        batch_g=formula.batch_g,
        ph_window=(fr("4.5"), fr("5.5")),
    )


def with_rule(asked: Request, rule: Rule) -> Request:
    return replace(asked, rules=(*asked.rules, rule))
