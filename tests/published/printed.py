"""Formulas in print as worktables: what was reported of them, and what the models say of the same shares."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path

from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Verdict
from optimiser.requests.sources import Sources
from optimiser.science import constants, thickness
from optimiser.science.acidity import MODEL_ERROR, PhResult, ph_range, solve_ph
from optimiser.science.formula import TURNS_TO_SOAP, profiles_for, turns_to_soap
from optimiser.workflows.propose import check_formula
from optimiser.workflows.worktable import open_worktable

DATA = Path(__file__).resolve().parents[1] / "data"
PRINTED = DATA / "published_formulas"
AS_PRINTED = DATA / "published_formulas_as_printed"
LIQUIDS = DATA / "cleansing_liquids"
BODIES = frozenset({"surfactant", "conditioner", "fatty-alcohol", "fatty-acid", "wax", "true-soap"})
"""Groups whose body no model describes."""
GUMS = frozenset({"gum", "carbomer", "cellulose-ether"})


@dataclass(frozen=True, slots=True)
class Reading:
    """A row of reported.csv: numbers where there are any, else words."""

    formula: str
    name: str
    kind: str
    low: Fraction | None
    high: Fraction | None
    words: str
    unit: str
    note: str
    tier: str
    shares: str

    @property
    def middle(self) -> Fraction | None:
        """Of both ends; None where only one is given."""
        return None if self.low is None or self.high is None else (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Ph:
    """The pH predicted for a formula: its middle, what the data leave open, and the model's own error."""

    middle: float
    low: float
    high: float
    error: float

    @classmethod
    def of(cls, found: PhResult, ends: tuple[float, float]) -> Ph:
        assert found.ph is not None
        return cls(found.ph, *ends, max(found.model_error, float(MODEL_ERROR)))

    def touches(self, low: float, high: float) -> bool:
        """Whether a reported range meets the band of data and model together."""
        return self.low - self.error <= high and low <= self.high + self.error


def _number(text: str) -> Fraction | None:
    return Fraction(text) if text else None


def _reading(row: Mapping[str, str]) -> Reading:
    value = _number(row["value"])
    low, high = (_number(row[end]) if value is None else value for end in ("low", "high"))
    texts = (row[name] for name in ("words", "unit", "note", "tier", "shares"))
    return Reading(row["formula"], row["property"], row["kind"], low, high, *texts)


@cache
def readings() -> tuple[Reading, ...]:
    with (PRINTED / "reported.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_reading(row) for row in csv.DictReader(file))


@cache
def printed() -> Sources:
    return open_worktable(PRINTED)


@cache
def verdicts(formula: str) -> tuple[Verdict, ...]:
    """What the check of a formula says."""
    return check_formula(printed(), printed().worktable.formulas[formula])


def verdict_on(found: Iterable[Verdict], rule: str) -> Verdict:
    """The verdict whose rule's id holds this text."""
    return next(one for one in found if rule in one.rule.head.id)


def grams_of(formula: Formula) -> dict[str, Fraction]:
    """Shares in % by ingredient, over all phases."""
    grams: dict[str, Fraction] = {}
    for _, line in formula.lines:
        grams[line.ingredient] = grams.get(line.ingredient, Fraction(0)) + line.percent
    return grams


def _soapless(one: Ingredient) -> Ingredient:
    """An emulsifier sold with soap in it, as if there were none."""
    return (
        replace(one, inci=one.inci.removesuffix(" SE"), composition=None) if one.inci.endswith(" SE") else one
    )


def predict_ph(formula: Formula, sources: Sources, *, even_soap: bool = False) -> Ph | str:
    """The pH of the shares as they stand, or why there is none; `even_soap` looks away from soap."""
    grams = grams_of(formula)
    present = [sources.worktable.ingredients[name] for name in grams]
    if even_soap:
        present = [_soapless(one) for one in present]
    if turns_to_soap(present) and not even_soap:
        return TURNS_TO_SOAP
    profiles = profiles_for(present, sources.constants)
    found, ends = solve_ph(grams, profiles), ph_range(grams, profiles)
    if ends is None or not found.valid:
        return "; ".join(found.why)
    return Ph.of(found, ends)


def why_no_thickness(formula: Formula, sources: Sources) -> str:
    """What stands in the way of predicting its thickness; nothing where it can be predicted."""
    present = [sources.worktable.ingredients[name] for name in grams_of(formula)]
    bodies = [one.name for one in present if one.group in BODIES]
    gums = [one.name for one in present if one.group in GUMS and constants.gum(one) is None]
    whys = [f"no model of the body given by {', '.join(bodies)}"] if bodies else []
    return "; ".join(whys + ([f"no thickness at 1 % is known of {', '.join(gums)}"] if gums else []))


def gum_thickness(formula: Formula, sources: Sources, shear: Fraction, end: constants.End) -> Fraction:
    """Pa.s of the gums in the water phase, by the power law, at one end of their data."""
    grams = grams_of(formula)
    present = [sources.worktable.ingredients[name] for name in grams]
    phase = sum((grams[one.id] * (constants.water_phase(one) or 0) for one in present), Fraction(0)) / 100
    laws = [(gum, grams[one.id] / phase) for one in present if (gum := constants.gum(one, end)) is not None]
    return thickness.mixture_viscosity(laws, shear)


@dataclass(frozen=True, slots=True)
class Sample:
    """One of the cleansing liquids: shares by ingredient as printed, and what was seen of it."""

    id: str
    shares: tuple[tuple[str, str], ...]
    stable: bool
    thickness: str
    flow: str


SEEN = ("sample", "stable", "turbidity_NTU", "turbidity_sd", "viscosity_class", "flow_type")


@cache
def samples() -> tuple[Sample, ...]:
    with (LIQUIDS / "samples.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_sample(row) for row in csv.DictReader(file))


def _sample(row: Mapping[str, str]) -> Sample:
    shares = tuple((name, share) for name, share in row.items() if name not in SEEN and share)
    return Sample(row["sample"], shares, row["stable"] == "TRUE", row["viscosity_class"], row["flow_type"])


def liquids_in(folder: Path) -> Sources:
    """A worktable in `folder` with every sample as a formula, read in one go; water takes what is left."""
    whole = folder / "liquids"
    shutil.copytree(LIQUIDS, whole)
    (whole / "formulas").mkdir()
    for sample in samples():
        lines = "".join(
            f"      - {{{name}: {'to 100 %' if name == 'water' else f'{share} %'}}}\n"
            for name, share in sample.shares
        )
        text = f"""name: Sample {sample.id}
product: {{use: rinse-off, area: hair, age: adult, form: cleanser}}
phases:
  - phase: A
    lines:
{lines}"""
        (whole / "formulas" / f"sample-{sample.id}.yaml").write_text(text, encoding="utf-8")
    return open_worktable(whole)
