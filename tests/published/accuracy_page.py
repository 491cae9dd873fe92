"""docs/explanation/accuracy.md: reported against predicted, for every reading of the formulas in print."""

# ruff: noqa: E501  # paragraphs of the page stand on one line each

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from statistics import median

from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Legal
from tests.docs.generated import grid
from tests.docs.pages import DOCS
from tests.published import printed
from tests.published.printed import Ph, Reading

PAGE = DOCS / "explanation" / "accuracy.md"
HOW = "python -m pytest tests/published/test_published_formulas.py --write-docs"
REMARKS = {
    "jacobs75-anionic-acid": "one apparent constant, from memory, stands for all the acid of the carbomer",
    "jacobs75-anionic-alkaline": "one apparent constant, from memory, stands for all the acid of the carbomer",
    "ua-fluid": "neither the soap in the emulsifier nor the minerals of the water are counted",
    "sup-creamy-cleanser": "fatty acid and alkali make soap, which is not modelled; two make-ups are assumed",
    "sup-fluffy-cream": "fatty acid and alkali make soap, which is not modelled",
    "forum24-xanthan05": "the strengths of the benzoate and sorbate blend are assumed",
    "forum24-tragacanth05": "the strengths of the benzoate and sorbate blend are assumed",
}
TIERS = (
    ("A", "peer-reviewed paper"),
    ("B", "sheet of a supplier or a trade paper, with results"),
    ("C", "composition only, in a trade paper or on a seller's page"),
    ("D", "blog or forum"),
    ("E", "results in an abstract or a thread, composition not given"),
)
GROWTH = (
    "challenge_test",
    "spoilage",
    "preservation",
    "shelf_life",
    "shelf_life_without_preservative",
    "preservative_min_effective_level",
    "preservative_combination_result",
    "FC50_total",
    "FC50_unionised",
)


def page(liquids: Mapping[str, tuple[Verdict, ...]]) -> str:
    """The whole page; `liquids` holds what the check says of each sample of the cleansing liquids."""
    parts = [INTRO, _tiers(), _ph(), _thickness(), _water_activity(), _growth(), _law(), _liquids(liquids)]
    return "\n\n".join([*parts, _rest()]) + "\n"


INTRO = f"""# How near the predictions come

This page is written by a test run: `{HOW}`. It holds every reading that the formulas in print report, beside what the models say of the same shares. Nothing is left out: what cannot be predicted stands in the lists with the reason.

The formulas are worktables: `tests/data/published_formulas` and `tests/data/cleansing_liquids`, figures only, each with its source. Where a share, a strength or a constant is not in print the table says *assumed* or *memory*; where nothing is known there is a gap. No constant was fitted to the readings below."""


def _tiers() -> str:
    formulas = printed.printed().worktable.formulas
    tier = {reading.formula: reading.tier for reading in printed.readings()}
    with_shares = Counter(_tier_of(name) for name in formulas)
    alone = Counter(kind for name, kind in tier.items() if name not in formulas)
    rows = [(mark, what, str(with_shares[mark]), str(alone[mark])) for mark, what in TIERS]
    table = grid(("Tier", "What it is", "Formulas entered", "Reported without a composition"), rows)
    silent = sorted(set(formulas) - set(tier))
    no_shares = sorted(name for name in tier if name not in formulas)
    return f"""## Tiers of trust

{table}

The 411 cleansing liquids (tier A) are counted [below](#411-cleansing-liquids).

Entered and checked, but nothing is reported to hold a prediction against ({len(silent)}): {_listed(silent)}.

No worktable, for the source gives results and no composition ({len(no_shares)}): {_listed(no_shares)}."""


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def _tier_of(formula: str) -> str:
    note = printed.printed().worktable.formulas[formula].note
    return note.partition("Tier ")[2][:1]


def _of(*names: str) -> list[Reading]:
    return [reading for reading in printed.readings() if reading.name in names]


def _value(reading: Reading) -> str:
    unit = f" {reading.unit}" if reading.unit else ""
    low, high = (None if end is None else _short(end) for end in (reading.low, reading.high))
    if low is None and high is None:
        return reading.words or "no figure"
    if low is None or high is None:
        return f"at most {high}{unit}" if low is None else f"at least {low}{unit}"
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def _short(value: Fraction) -> str:
    return f"{float(value):.6g}"


def _ph() -> str:
    sources = printed.printed()
    rows, left, refused, errors, soapy = [], [], [], [], []
    for reading in _of("pH"):
        formula = sources.worktable.formulas.get(reading.formula)
        found = "its composition is not given" if formula is None else printed.predict_ph(formula, sources)
        if isinstance(found, Ph) and reading.middle is not None:
            errors.append((reading, found))
            rows.append(_ph_row(reading, found))
            continue
        why = found if isinstance(found, str) else "no figure is printed"
        left.append((f"`{reading.formula}`", reading.tier, _value(reading), reading.kind, why))
        anyway = None if formula is None else printed.predict_ph(formula, sources, even_soap=True)
        if isinstance(anyway, Ph) and reading.middle is not None:
            refused.append(_ph_row(reading, anyway)[:-1])
            soapy.append((reading, anyway))
    heads = (
        "Formula",
        "Tier",
        "Shares",
        "Reported",
        "How",
        "Predicted",
        "By the data",
        "Model error",
        "Error",
    )
    unpredicted = grid(("Formula", "Tier", "Reported", "How", "Why not predicted"), left)
    return f"""## pH

The shares go into the charge balance as they are printed. *By the data* is the range that the spreads of powders, of shares and of a carbomer's constant leave open; *model error* is the model's own, and comes on top of it: 0.1 pH at least. *Error* is predicted less the middle of what is reported. *In the band* says whether the reported range touches data and model together.

{grid((*heads, "In the band", "Remark"), rows)}

{_summary(errors, soapy)}

Not predicted ({len(left)}):

{unpredicted}

For the record, what the charge balance would say of those that are refused for their soap, were it asked all the same:

{grid((*heads, "In the band"), refused)}"""


def _ph_row(reading: Reading, found: Ph) -> tuple[str, ...]:
    assert reading.low is not None
    assert reading.high is not None
    inside = "yes" if found.touches(float(reading.low), float(reading.high)) else "**no**"
    first = (f"`{reading.formula}`", reading.tier, reading.shares, _value(reading), reading.kind)
    data = f"{found.low:.2f} to {found.high:.2f}"
    numbers = (f"{found.middle:.2f}", data, f"{found.error:.2f}", f"{_off(reading, found):+.2f}")
    return (*first, *numbers, inside, REMARKS.get(reading.formula, ""))


def _off(reading: Reading, found: Ph) -> float:
    assert reading.middle is not None
    return found.middle - float(reading.middle)


def _summary(found: Sequence[tuple[Reading, Ph]], soapy: Sequence[tuple[Reading, Ph]]) -> str:
    measured = [(reading, ph) for reading, ph in found if reading.kind == "measured"]
    rows = []
    groups = (
        ("all", found),
        ("measured, not adjusted to", measured),
        ("all, were those refused for their soap counted too", (*found, *soapy)),
    )
    for what, group in groups:
        errors = [abs(_off(reading, ph)) for reading, ph in group]
        inside = sum(ph.touches(float(reading.low or 0), float(reading.high or 0)) for reading, ph in group)
        numbers = (f"{sum(errors) / len(errors):.2f}", f"{median(errors):.2f}", f"{max(errors):.2f}")
        rows.append((what, str(len(errors)), *numbers, f"{inside} of {len(errors)}"))
    table = grid(("Errors in pH", "Predictions", "Mean", "Median", "Worst", "In the band"), rows)
    return (
        f"{table}\n\nSo few readings show that the arithmetic is sound, not how often a band holds: most formulas "
        "in print say too little of what is in them to be predicted at all."
    )


def _thickness() -> str:
    sources = printed.printed()
    rows, left = [], []
    for reading in _of("viscosity", "consistency", "pourability"):
        formula = sources.worktable.formulas.get(reading.formula)
        why = "its composition is not given"
        if formula is not None:
            why = printed.why_no_thickness(formula, sources)
        if why or formula is None:
            left.append((f"`{reading.formula}`", reading.tier, _value(reading), reading.note, why))
            continue
        at_rest, stirred = (
            " to ".join(
                _pascal(printed.gum_thickness(formula, sources, shear, end)) for end in ("low", "high")
            )
            for shear in (Fraction(1), Fraction(50))
        )
        rows.append((f"`{reading.formula}`", reading.tier, _value(reading), at_rest, stirred, "no figure"))
    heads = ("Formula", "Tier", "Reported", "Predicted at 1/s", "Predicted at 50/s", "Error")
    unpredicted = grid(("Formula", "Tier", "Reported", "Method", "Why not predicted"), left)
    return f"""## Thickness

{grid(heads, rows)}

No figure is both reported and predictable, so there is no mean error: the laws are shown on tables of their own (`tests/published/test_gum_flow.py`, `test_kaolin_slurries.py`).

Not predicted ({len(left)}):

{unpredicted}"""


def _pascal(value: Fraction) -> str:
    return f"{float(value):.2g} Pa.s"


def _water_activity() -> str:
    rows = [
        (f"`{r.formula}`", r.tier, _value(r), "its composition is not given") for r in _of("water_activity")
    ]
    return f"""## Water activity and density

No formula with its whole composition reports a water activity, and none at all reports a density.

Not predicted ({len(rows)}):

{grid(("Formula", "Tier", "Reported", "Why not predicted"), rows)}"""


def _growth() -> str:
    """What grew or did not, beside what the check says of coverage."""
    rows = []
    counted: Counter[tuple[str, str]] = Counter()
    formulas = printed.printed().worktable.formulas
    for reading in _of(*GROWTH):
        entered = reading.formula in formulas
        if not entered or reading.name.startswith("preservative"):
            counted[reading.formula, reading.name] += 1
            continue
        what = f"{reading.name.replace('_', ' ')}: {_value(reading)}"
        rows.append((f"`{reading.formula}`", reading.tier, what, _coverage(reading.formula)))
    left = [
        (f"`{name}`", what.replace("_", " "), str(many), _why_no_growth(name, what))
        for (name, what), many in counted.items()
    ]
    return f"""## Preservation

The check never says that a product is preserved: it says what stands at or above its least dose on paper, up to which pH.

{grid(("Formula", "Tier", "Reported", "The check says"), rows)}

Not judged ({sum(counted.values())} readings):

{grid(("Formula", "What", "Readings", "Why"), left)}"""


def _why_no_growth(name: str, what: str) -> str:
    if what == "preservative_min_effective_level" and name.endswith("acid"):
        return "they give the least doses of the table, so they cannot judge it"
    if what == "preservative_min_effective_level":
        return "of what the table holds, phenoxyethanol and DMDM hydantoin passed at the level of the acid lotion"
    if what == "preservative_combination_result":
        return "no least dose of the parabens or of imidazolidinyl urea alone is known"
    if what.startswith("FC50"):
        return "shown in `tests/published/test_benzoic_acid_doses.py`"
    return f"the composition of `{name}` is not given"


def _coverage(formula: str) -> str:
    found = [v for v in printed.verdicts(formula) if "covers-" in v.rule.head.id]
    met = [v.rule.head.id.rpartition("-")[2] for v in found if v.met]
    not_met = [v.rule.head.id.rpartition("-")[2] for v in found if not v.met]
    parts = [f"covered on paper: {', '.join(met)}"] if met else []
    parts += [f"not covered: {', '.join(not_met)}"] if not_met else []
    return "; ".join(parts) or "nothing: no coverage is asked"


def _law() -> str:
    rows = [
        (f"`{name}`", verdict.rule.head.sentence, _amount(verdict))
        for name in printed.printed().worktable.formulas
        for verdict in printed.verdicts(name)
        if isinstance(verdict.rule, Legal) and not verdict.met
    ]
    return f"""## Limits of law

Formulas of their day, judged by the law of the European Union on 1 November 2026. What passes a limit:

{grid(("Formula", "Rule", "Stands at"), rows)}"""


def _amount(verdict: Verdict) -> str:
    return "not known" if verdict.value is None else f"{_short(verdict.value)} %"


def _liquids(verdicts: Mapping[str, tuple[Verdict, ...]]) -> str:
    samples = printed.samples()
    classes = Counter((s.thickness or "not read", s.flow or "not read") for s in samples if s.stable)
    seen = [(_plain(a), _plain(b), str(n)) for (a, b), n in sorted(classes.items())]
    clear = sum(not s.stable for s in samples)
    return f"""## 411 cleansing liquids

Chitre and others 2024, *Scientific Data* 11, article s41597-024-03573-w: {len(samples)} liquids of two surfactants, a cationic polymer and a thickener in water, the shares of the raw materials as supplied. All are read as formulas and checked. {clear} parted into phases; of the {len(samples) - clear} others:

{grid(("Thickness class", "Flow", "Liquids"), seen)}

**Thickness: not predicted.** No model here describes the body that surfactants and their thickeners give, and the limits of the classes are not in print. **pH, density, water activity: not reported**, and not predicted, as the strengths of the raw materials are not in print. **Turbidity: not predicted.**

What the check says:

{grid(("Rule", "Applies to", "Met", "Not met"), _rules(verdicts.values()))}

No preservative is in print, so no microbe is covered; the strength of the cetrimonium chloride, 25 to 30 %, is common practice and the law counts the highest.

Two warnings about opposite charges can be held against what was seen:

{_charges(verdicts)}"""


def _plain(word: str) -> str:
    return word.casefold().replace("-", " ")


def _rules(verdicts: Iterable[tuple[Verdict, ...]]) -> list[tuple[str, ...]]:
    met: Counter[tuple[str, bool]] = Counter(
        (verdict.rule.head.id, verdict.met) for found in verdicts for verdict in found
    )
    names = sorted({name for name, _ in met if name.startswith(SHOWN)})
    return [
        (f"`{n}`", str(met[n, True] + met[n, False]), str(met[n, True]), str(met[n, False])) for n in names
    ]


def _charges(verdicts: Mapping[str, tuple[Verdict, ...]]) -> str:
    rows = []
    for what, rule in WARNINGS:
        warned: Counter[tuple[bool, bool]] = Counter()
        for sample in printed.samples():
            hit = any(v.rule.head.id.startswith(rule) and not v.met for v in verdicts[sample.id])
            warned[hit, sample.stable] += 1
        rows += [(what, word, *_parted(warned[hit, False], warned[hit, True])) for hit, word in WARNED]
    return grid(("Warning", "Given", "Parted", "Stayed", "Share parted"), rows)


SHOWN = ("clash#", "house#covers", "law#", "total")
"""Beginnings of the ids of rules that are counted; those carried from the base itself hold by nature."""
WARNED = ((True, "yes"), (False, "no"))
WARNINGS = (
    ("small cation beside anionic cleanser", "clash#small-cation"),
    ("cationic polymer beside anionic cleanser", "clash#polyquaternium"),
)


def _parted(parted: int, stayed: int) -> tuple[str, str, str]:
    return str(parted), str(stayed), f"{100 * parted / (parted + stayed):.0f} %"


def _rest() -> str:
    shown = {"pH", "viscosity", "consistency", "pourability", "water_activity", *GROWTH}
    counted = Counter(r.name for r in printed.readings() if r.name not in shown)
    rows = [(name.replace("_", " "), str(many)) for name, many in sorted(counted.items())]
    return f"""## What no model speaks of

Also reported, kept in `reported.csv`, and not predicted because nothing here models it:

{grid(("Reading", "How many"), rows)}"""
