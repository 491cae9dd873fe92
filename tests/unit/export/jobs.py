"""Two invented jobs: a clay mask of 18 lines whose gum and strong clay went, and a short balm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.formula import Dosed, Formula, Line, Phase, Step
from optimiser.domain.ingredient import Figure, Ingredient, Part, Way
from optimiser.domain.outcome import Change, Measure, Proposal, ProposedLine, RoleAnswer, Stage, Verdict
from optimiser.domain.product import Product
from optimiser.domain.request import Remark, Request, Slot
from optimiser.domain.rules import Absent, Acidity, Covers, Head, Level, Rule, Share
from optimiser.domain.selector import Pick
from optimiser.domain.worktable import Balance
from optimiser.export.provenance import Provenance
from optimiser.export.sheet import Sheet
from optimiser.export.sheet_model import build_sheet
from optimiser.search.weighing import Weighing, weigh

F = Fraction
BALANCES = (Balance(F(1, 100), F(200)), Balance(F(1), F(5000)))
PROVENANCE = Provenance("0.1.0", "ab" * 32, "0f1e2d3c4b5a" + "6" * 52, "HiGHS 1.15.0, PuLP 3.3.0")
ZERO = F(0)

Row = tuple[str, str, str, str, str, Way | None]
CLAY = Way(
    "powder",
    "sieve in slowly while stirring until no dry pockets are left",
    wait_min=F(15),
    wear=("dust mask",),
)
GUM = Way(
    "slurry",
    "stir into the polyol until no dry specks are left and pour into the moving water",
    "kind:polyol",
    F(10),
    wait_min=F(45),
    wear=("dust mask",),
)
COOL = Way("cool-down", "stir into the cooled batch", add_to_c=F(40))
ACID = Way(
    "adjust",
    "add part of it, read the pH, then go on drop by drop up to the ceiling",
    wear=("gloves", "goggles"),
)
WATER = Way("water", "stir into the water until clear")
OIL = Way("oil", "weigh into the oil pot", add_to_c=F(75))
MELT = Way("oil", "melt with the other fats until clear", add_from_c=F(70), add_to_c=F(85))

MASK_ROWS: tuple[Row, ...] = (
    ("water", "Water", "Aqua", "water", "water", Way("water", "weigh into the main pot first")),
    ("rose-water", "Rose water", "Rosa Damascena Flower Water", "hydrosol", "water", COOL),
    ("glycerin", "Glycerin", "Glycerin", "polyol", "polyol", Way("slurry", "weigh into a dry beaker")),
    ("xanthan", "Xanthan gum", "Xanthan Gum", "gum-anionic", "gum", GUM),
    ("konjac", "Konjac gum", "Amorphophallus Konjac Root Powder", "gum-nonionic", "gum", GUM),
    ("kaolin", "White kaolin", "Kaolin", "clay-plain", "clay", CLAY),
    ("rose-clay", "Rose clay", "Kaolin (and) Illite", "clay-plain", "clay", CLAY),
    ("bentonite", "Bentonite", "Bentonite", "clay-swelling", "clay", CLAY),
    ("oat-flour", "Oat flour", "Avena Sativa (Oat) Kernel Flour", "flour", "flour", CLAY),
    ("benzoate", "Sodium benzoate", "Sodium Benzoate", "preservative-acid", "preservative", WATER),
    ("sorbate", "Potassium sorbate", "Potassium Sorbate", "preservative-acid", "preservative", WATER),
    ("phytate", "Sodium phytate 50 %", "Sodium Phytate (and) Aqua", "chelator", "chelator", WATER),
    ("sunflower-oil", "Sunflower oil, high oleic", "Helianthus Annuus Seed Oil", "oil", "oil", OIL),
    ("jojoba-oil", "Jojoba oil", "Simmondsia Chinensis Seed Oil", "oil", "oil", OIL),
    ("olivate", "Sugar ester emulsifier", "Sucrose Stearate", "emulsifier-nonionic", "emulsifier", MELT),
    (
        "tocopherol",
        "Vitamin E, mixed tocopherols",
        "Tocopherol (and) Helianthus Annuus Seed Oil",
        "antioxidant",
        "antioxidant",
        COOL,
    ),
    (
        "calendula",
        "Calendula extract in glycerin",
        "Glycerin (and) Aqua (and) Calendula Officinalis Flower Extract",
        "extract",
        "extract",
        COOL,
    ),
    ("panthenol", "Panthenol 75 %", "Panthenol (and) Aqua", "vitamin", "active", COOL),
    ("citric-acid-20", "Citric acid 20 % in water", "Aqua (and) Citric Acid", "acid", "acid", ACID),
    ("moss-milk", "Moss milk", "Sphagnum Magellanicum Extract", "extract", "extract", None),
)
# (phase, ingredient, base share, new share)
MASK_SHARES = (
    ("A", "glycerin", "5", "5"),
    ("A", "xanthan", "0.4", "0"),
    ("A", "konjac", "0", "0.22"),
    ("B", "water", "51.2", "50.98"),
    ("B", "rose-water", "5", "5"),
    ("B", "phytate", "0.2", "0.2"),
    ("B", "benzoate", "0.5", "0.5"),
    ("B", "sorbate", "0.3", "0.3"),
    ("C", "kaolin", "12", "18"),
    ("C", "rose-clay", "4", "4"),
    ("C", "bentonite", "6", "0"),
    ("C", "oat-flour", "3", "3"),
    ("D", "sunflower-oil", "4", "4"),
    ("D", "jojoba-oil", "1.5", "1.5"),
    ("D", "olivate", "2", "2"),
    ("D", "tocopherol", "0.2", "0.2"),
    ("E", "calendula", "1", "1"),
    ("E", "panthenol", "0.7", "0.7"),
    ("E", "moss-milk", "0", "0.4"),
    ("E", "citric-acid-20", "3", "3"),
)
TITLES = {
    "A": "Gum slurry",
    "B": "Water phase",
    "C": "Powders",
    "D": "Oil phase",
    "E": "Cool-down and adjusting",
}
MASK_STEPS = {
    "A": (
        Step("Stir the gum into the glycerin until no dry specks are left.", ("xanthan", "glycerin")),
        Step("Pour the xanthan slurry into the moving water.", ("xanthan",)),
    ),
    "B": (
        Step(
            "Weigh the water into the main pot and stir in rose water and phytate.",
            ("water", "rose-water", "phytate"),
        ),
        Step("Dissolve benzoate and sorbate in all of it.", ("benzoate", "sorbate")),
    ),
    "C": (
        Step("Leave the bentonite to swell for an hour.", ("bentonite",)),
        Step(
            "Sieve the clays and the oat flour in slowly.", ("kaolin", "rose-clay", "bentonite", "oat-flour")
        ),
        Step("Stir until smooth."),
    ),
    "D": (
        Step("Melt the emulsifier with the oils at 75 °C.", ("sunflower-oil", "jojoba-oil", "olivate")),
        Step("Off the heat, stir in the vitamin E.", ("tocopherol",)),
    ),
    "E": (
        Step("Below 40 °C stir in extract and panthenol.", ("calendula", "panthenol")),
        Step("Set the pH.", ("citric-acid-20",)),
    ),
}


def ingredients_of(rows: tuple[Row, ...]) -> dict[str, Ingredient]:
    found = {}
    for identifier, name, inci, kind, group, way in rows:
        parts = (Part(inci, F(100), F(100), F(100)),)
        figures = (
            {"max_temp": Figure(F(40), F(35), F(45), "C", "invented")} if identifier == "panthenol" else {}
        )
        found[identifier] = Ingredient(
            identifier, name, inci, kind, group, (kind,), composition=parts, way=way, figures=figures
        )
    return found


MASK_RULES: tuple[Rule, ...] = (
    Absent(
        Head(
            "briefs/sensitive.yaml#strong clay",
            "Nothing that is or may be flagged strong-clay.",
            "asked",
            "it draws too hard on dry skin",
        ),
        Pick("flag", "strong-clay"),
    ),
    Share(
        Head("formulas/mask.yaml#clay", "Clay between 18 % and 30 %."), Pick("group", "clay"), F(18), F(30)
    ),
    Level(
        Head("formulas/mask.yaml#thickening", "Thickening within 10 % of the base."),
        "thickening",
        F(36, 100),
        F(44, 100),
    ),
    Acidity(Head("formulas/mask.yaml#ph", "pH between 4.5 and 5.4."), F(9, 2), F(27, 5)),
    *(
        Covers(Head(f"formulas/mask.yaml#covers {one}", f"Covers {one}.", basis="safety"), one, F(27, 5))
        for one in ("bacteria", "yeast", "mould")
    ),
    Share(Head("briefs/sensitive.yaml#more oil", "At least 6 % oil.", rank=1), Pick("group", "oil"), F(6)),
)


def mask_request() -> Request:
    rows = [(phase, one, F(base), F(new)) for phase, one, base, new in MASK_SHARES]
    dosed = Dosed("pH 5.0")
    phases = tuple(
        Phase(
            name,
            title,
            tuple(
                Line(one, base, one == "water", dosed if one == "citric-acid-20" else None)
                for phase, one, base, _ in rows
                if phase == name and base
            ),
            MASK_STEPS[name],
        )
        for name, title in TITLES.items()
    )
    formula = Formula(
        "mask",
        "Oat and rose clay mask",
        Product("rinse-off", "face", "adult", "paste"),
        phases,
        F(250),
        ("oat-flour", "rose-clay"),
    )
    acid = Slot("citric-acid-20", "E")
    return Request(
        name="Oat and rose clay mask · Sensitive skin · without xanthan",
        formula=formula,
        product=formula.product,
        ingredients=ingredients_of(MASK_ROWS),
        slots=tuple(Slot(one, phase) for phase, one, _, _ in rows),
        base={Slot(one, phase): base for phase, one, base, _ in rows if base},
        filler=Slot("water", "B"),
        fixed={acid: F(3)},
        dosed={acid: dosed},
        newcomers=frozenset({"konjac", "moss-milk"}),
        rules=MASK_RULES,
        pulls=(),
        aim=("closest",),
        currency="EUR",
        batch_g=F(250),
        ph_window=(F(9, 2), F(27, 5)),
        by_hand=(Remark("colour", "Iron in rose clay: is the grade allowed for the use asked?", "invented"),),
    )


def mask_proposal() -> Proposal:
    rows = [(phase, one, F(base), F(new)) for phase, one, base, new in MASK_SHARES]
    lines = tuple(
        ProposedLine(
            one, phase, new, base, one == "water", Dosed("pH 5.0") if one == "citric-acid-20" else None
        )
        for phase, one, base, new in rows
        if new
    )
    because: Mapping[str, tuple[str, ...]] = {
        "bentonite": ("briefs/sensitive.yaml#strong clay",),
        "konjac": ("formulas/mask.yaml#thickening",),
        "kaolin": ("formulas/mask.yaml#clay",),
    }
    changes = tuple(
        sorted(
            (Change(one, base, new, because.get(one, ())) for _, one, base, new in rows if base != new),
            key=lambda change: change.ingredient,
        )
    )
    verdicts = tuple(
        Verdict(
            rule,
            rule.head.rank is None,
            F(11, 2) if rule.head.rank else None,
            unit="%",
            margin=F(-1, 2) if rule.head.rank else F(1, 3),
        )
        for rule in MASK_RULES
    )
    return Proposal(
        heading="Proposal",
        lines=lines,
        stages=(Stage("departure", F(9), F(26, 3), True, "points"),),
        verdicts=verdicts,
        measures=(
            Measure("cost", F(417, 100), F(395, 100), "EUR/kg"),
            Measure("clay", F(22), F(22), "%", F(22), F(22)),
        ),
        changes=changes,
        roles=(
            RoleAnswer("bentonite", "absorbent", (("kaolin", F(18)), ("rose-clay", F(4)))),
            RoleAnswer("xanthan", "viscosity-controlling", (("konjac", F(22, 100)),)),
            RoleAnswer("bentonite", "suspending", ()),
        ),
        unmet_wishes=tuple(v for v in verdicts if not v.met),
        departure_parts=(("points moved", F(6)), ("newcomers", F(3))),
        cost_per_kg=F(395, 100),
        sets_off=(
            Remark("label", "The ingredient list changes: print a new label."),
            Remark(
                "challenge test",
                "Preservation or what binds it changed: only a new challenge test shows whether it holds.",
            ),
        ),
        warnings=(
            Remark(
                "citric-acid-20",
                "Citric acid 20 % in water: goggles and gloves; into water, never water onto it.",
                "common practice",
            ),
            Remark(
                "kaolin",
                "White kaolin; Rose clay; Oat flour; Konjac gum: fitted dust mask; sieve slowly, wet "
                "early, no draught.",
                "common practice",
            ),
            Remark("asked#gum", "Konjac gels go on thickening overnight."),
        ),
        rests_on=(
            Remark(
                "konjac", "Thickening of Konjac gum is assumed (1.8 g/g): a reading settles it.", "assumed"
            ),
        ),
    )


BALM_ROWS: tuple[Row, ...] = (
    ("shea", "Shea butter", "Butyrospermum Parkii Butter", "butter", "butter", MELT),
    ("beeswax", "Beeswax", "Cera Alba", "wax", "wax", MELT),
    ("almond-oil", "Almond oil", "Prunus Amygdalus Dulcis Oil", "oil", "oil", OIL),
    ("tocopherol", "Vitamin E", "Tocopherol", "antioxidant", "antioxidant", OIL),
)


def balm_request() -> Request:
    base = {"shea": F(30), "beeswax": F(20), "almond-oil": F(4975, 100), "tocopherol": F(1, 4)}
    phase = Phase("A", "", tuple(Line(one, share, one == "almond-oil") for one, share in base.items()))
    formula = Formula("balm", "Hand balm", Product("leave-on", "body", "adult", "balm"), (phase,), F(60))
    return Request(
        name="Hand balm",
        formula=formula,
        product=formula.product,
        ingredients=ingredients_of(BALM_ROWS),
        slots=tuple(Slot(one, "A") for one in base),
        base={Slot(one, "A"): share for one, share in base.items()},
        filler=Slot("almond-oil", "A"),
        fixed={},
        dosed={},
        newcomers=frozenset(),
        rules=(),
        pulls=(),
        aim=("closest",),
        currency="EUR",
        batch_g=F(60),
    )


def balm_proposal() -> Proposal:
    request = balm_request()
    lines = tuple(
        ProposedLine(slot.ingredient, "A", share, share, slot == request.filler)
        for slot, share in request.base.items()
    )
    return Proposal("", lines, (), (), (), (), (), (), (), None, (), ())


def hostile(text: str) -> tuple[Proposal, Request]:
    """The mask with `text` wherever a person's words can stand."""
    request, proposal = mask_request(), mask_proposal()
    worst = {
        one: replace(
            i, name=text, inci=text, way=replace(i.way, add_as=text, wear=(text,)) if i.way else None
        )
        for one, i in request.ingredients.items()
    }
    phases = tuple(
        replace(p, title=text, steps=tuple(replace(s, text=text) for s in p.steps))
        for p in request.formula.phases
    )
    heads = tuple(replace(rule, head=replace(rule.head, sentence=text, why=text)) for rule in request.rules)
    said = (Remark(text, text, text),)
    return (
        replace(
            proposal, heading=text, sets_off=said, rests_on=said, warnings=(Remark("kaolin", text), *said)
        ),
        replace(
            request,
            name=text,
            ingredients=worst,
            rules=heads,
            by_hand=said,
            formula=replace(request.formula, name=text, phases=phases),
        ),
    )


def sheet_of(proposal: Proposal, request: Request, batch_g: Fraction | None = None) -> Sheet:
    asked = request.batch_g if batch_g is None else batch_g
    return build_sheet(
        proposal,
        request,
        weighing=weighing_of(proposal, asked),
        asked_g=asked,
        provenance=PROVENANCE,
        title="Trial",
    )


def weighing_of(proposal: Proposal, batch_g: Fraction) -> Weighing:
    filler = next(i for i, line in enumerate(proposal.lines) if line.fills)
    return weigh([line.percent for line in proposal.lines], batch_g, BALANCES, filler)
