"""What is read and looked at while a trial is made, and what stands on paper about it."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Measure, Proposal, Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Covers, Forecast, FreeLiquid, Response, Thickness
from optimiser.export.figures import short, spread_words
from optimiser.export.plain import clean, digits_of
from optimiser.export.sheet import Check, ForetoldRow
from optimiser.export.wording import Wording, joined
from optimiser.requests.sentences import first_upper
from optimiser.search.by_models import PREDICTED, errs_of, measure_of
from optimiser.search.labelling import TITLE, allergen_sentences
from optimiser.units.numbers import show_number

HEAT_SENSITIVE_C = Fraction(45)
LOOKS = "as the base; even, no free liquid, no gas, no crystals"
HOT_C = Fraction(60)
DILUTED = "pH of 1 part in 10 with distilled water"
TIDY = (
    "Tools, bench and packs washed, wiped with 60 to 80 % alcohol and dry.",
    "Balance level and at zero; every line in its own labelled cup, lot written down.",
)
TOLD_ELSEWHERE = ("pH", "density", "volume of ")
"""How foretold measures begin that stand in the part on pH or in a sentence of their own."""
SUMMED_UP = ("natural origin", "oil phase", "emulsifier to oil", "HLB ")
"""How measures begin that are no prediction and stand beside them."""
WORN = ("dust mask", "goggles", "gloves")


def before_starting(present: Iterable[Ingredient]) -> tuple[str, ...]:
    """What is made ready, and what is worn for the lines that are there (common practice)."""
    worn = {clean(item) for ingredient in present if ingredient.way for item in ingredient.way.wear} - {""}
    order = sorted(worn, key=lambda item: (WORN.index(item) if item in WORN else len(WORN), item))
    wear = (f"Worn for this batch: {joined(order)}.",) if order else ()
    return (*TIDY, *wear, "One labelled jar of the batch is kept.")


def has_water(present: Iterable[Ingredient]) -> bool:
    return any(ingredient.group == "water" for ingredient in present)


def checks_of(
    request: Request,
    present: tuple[Ingredient, ...],
    batch: str,
    wording: Wording,
    lost: Fraction = Fraction(0),
) -> tuple[Check, ...]:
    """Readings in the order they are taken; `lost` is the part of a batch that stays in pots."""
    watery = has_water(present)
    window = request.ph_window
    target = f"{wording.number(window[0])} to {wording.number(window[1])}" if window else "write it down"
    thick = "thickness" if watery else "hardness and melt"
    found = [*_heat_checks(present, wording, watery=watery)]
    if watery or window:
        found.append(Check("before filling", DILUTED, target))
    found += [
        Check("before filling", f"Appearance, smell, {thick}", LOOKS),
        Check("before filling", "Yield", _yield(batch, lost, wording), "g"),
    ]
    if any(ingredient.group == "clay" for ingredient in present) and (watery or window):
        found.append(Check("after 1 h", DILUTED, target))
    if watery or window:
        found.append(Check("after 24 h", DILUTED, target))
    found.append(Check("after 24 h", f"Appearance, smell, {thick}", LOOKS))
    if any(ingredient.group == "clay" for ingredient in present) and (watery or window):
        found.append(Check("after 1 week", DILUTED, target))
    return tuple(found)


def _yield(batch: str, lost: Fraction, wording: Wording) -> str:
    whole = f"of {batch} weighed in"
    return f"about {wording.number((1 - lost) * 100, 1)} % {whole}" if lost else whole


def _heat_checks(present: tuple[Ingredient, ...], wording: Wording, *, watery: bool) -> list[Check]:
    """Temperatures to be below before heat-sensitive lines go in, and water lost by heating."""
    limits: dict[Fraction, list[str]] = {}
    for ingredient in present:
        limit = heat_limit(ingredient)
        if limit is not None and limit <= HEAT_SENSITIVE_C:
            limits.setdefault(limit, []).append(wording.name(ingredient.id))
    found = []
    starts = [i.way.add_from_c for i in present if i.way is not None and i.way.add_from_c is not None]
    if watery and max(starts, default=Fraction(0)) >= HOT_C:
        found.append(
            Check("water put back", "Pot weighed before and after heating", "as before heating", "g")
        )
    found += [
        Check("batch", f"Temperature before {joined(names)}", f"{wording.number(limit)} °C or cooler", "°C")
        for limit, names in sorted(limits.items(), reverse=True)
    ]
    return found


def heat_limit(ingredient: Ingredient) -> Fraction | None:
    """The lowest of what its way of adding and its own heat limit allow, in °C."""
    figure = ingredient.figure("max_temp")
    stated = [] if figure is None else [figure.low]
    if ingredient.way is not None and ingredient.way.add_to_c is not None:
        stated.append(ingredient.way.add_to_c)
    return min(stated, default=None)


def on_paper(proposal: Proposal, present: tuple[Ingredient, ...], wording: Wording) -> tuple[str, ...]:
    """Which microbes are covered on paper and up to which pH, and what that does not show."""
    covers = [v for v in proposal.verdicts if isinstance(v.rule, Covers)]
    found = [_covered(group, wording) for group in _by_top(v for v in covers if v.met)]
    missing = [clean(v.rule.group) for v in covers if not v.met and isinstance(v.rule, Covers)]
    if missing:
        found.append(f"Does not cover {joined(sorted(missing))} on paper.")
    if not found and has_water(present):
        found.append("Nothing was asked about cover against bacteria, yeast and mould.")
    if found:
        found.append("Only a challenge test shows whether it holds.")
    if not proposal.optimal:
        found.append("It meets every must; that no other formula does it with less was not proved.")
    return tuple(found)


def foretold(proposal: Proposal, request: Request) -> tuple[str, ...]:
    """What was predicted of what a rule asks, what could not be, and the allergens the label has to name."""
    told = (*map(_forecast, _forecasts(proposal)), *(clean(o.text) for o in proposal.on_paper))
    labels = allergen_sentences(proposal, request) if request.labels else ()
    return (*told, *(f"{TITLE}: {clean(text)}" for text in labels))


def _forecasts(proposal: Proposal) -> list[Verdict]:
    """Rules on a predicted thickness, free liquid, water activity and the like, with what was predicted."""
    kinds = Thickness | FreeLiquid | Forecast | Response
    return [v for v in proposal.verdicts if isinstance(v.rule, kinds) and v.value is not None]


def of_the_jar(proposal: Proposal) -> tuple[ForetoldRow, ...]:
    """What is foretold that no rule asks for, in the order it is told."""
    names = {
        measure_of(v.rule)
        for v in _forecasts(proposal)
        if isinstance(v.rule, Thickness | FreeLiquid | Forecast | Response)
    }
    return tuple(_row(one) for one in proposal.measures if one.name not in names and _is_foretold(one))


def _is_foretold(measure: Measure) -> bool:
    ours = measure.name.endswith(PREDICTED) or measure.name.startswith(SUMMED_UP)
    return measure.value is not None and ours and not measure.name.startswith(TOLD_ELSEWHERE)


def _row(one: Measure) -> ForetoldRow:
    digits = digits_of(one.name, one.unit)
    value = f"{short(one.value, digits)} {one.unit}".strip()
    spread = spread_words(one.low, one.high, digits)
    return ForetoldRow(first_upper(clean(one.name.removesuffix(PREDICTED))), value, spread, errs_of(one.name))


def _forecast(verdict: Verdict) -> str:
    """`Water activity: at most 0.97. Predicted 0.968; the sum errs by about 0.005.`"""
    asked = clean(verdict.rule.head.sentence).rstrip(".")
    value = show_number(verdict.value or Fraction(0), 3)
    note = clean(verdict.note).removeprefix("predicted").lstrip(", ")
    return f"{asked}. Predicted {f'{value} {verdict.unit}'.strip()}{f'; {note}' if note else ''}."


def _by_top(verdicts: Iterable[Verdict]) -> list[tuple[Fraction | None, list[str]]]:
    tops: dict[Fraction | None, list[str]] = {}
    for verdict in verdicts:
        if isinstance(verdict.rule, Covers):
            tops.setdefault(verdict.rule.ph_top, []).append(clean(verdict.rule.group))
    return sorted(tops.items(), key=lambda item: (item[0] is None, item[0] or Fraction(0)))


def _covered(group: tuple[Fraction | None, list[str]], wording: Wording) -> str:
    top, names = group
    upto = "" if top is None else f" at pH up to {wording.number(top)}"
    return f"Covers {joined(dict.fromkeys(names))} on paper{upto}."
