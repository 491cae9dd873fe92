"""The label of a formula or a saved proposal."""

from __future__ import annotations

import calendar
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import partial
from pathlib import Path

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken
from optimiser.domain.label import Keeps, Label, LabelRules
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Remark, Request, Slot
from optimiser.domain.worktable import Lot
from optimiser.errors import OptimiserError, UsageError
from optimiser.export.label import label_html, label_json, label_text
from optimiser.files.forms import write_forms
from optimiser.law.allergens import LISTED
from optimiser.law.ingredient_list import listed
from optimiser.law.label_warnings import above_threshold, demanded
from optimiser.loading.reference import load_label_rules
from optimiser.requests.draft import Sources
from optimiser.search.stock import in_date
from optimiser.units.net_content import net_content
from optimiser.workflows.compare import Opened, opened
from optimiser.workflows.provenance import provenance_of

WRITERS: Mapping[str, Callable[[Label], str]] = {"html": label_html, "txt": label_text, "json": label_json}
CUSTOM = "common practice"
USUAL = (
    Remark("skin", "For outer use. Keep out of the eyes. Not on broken or irritated skin.", CUSTOM),
    Remark("patch", "Try on a small spot first; stop when the skin reacts.", CUSTOM),
    Remark("children", "Keep out of the reach of children. Not for children under 3.", CUSTOM),
)
OWN_TEST = Remark(
    "keeps",
    "How long it keeps comes from your own stability and challenge tests; nothing here can tell it.",
    CUSTOM,
)


@dataclass(frozen=True, slots=True)
class LabelWanted:
    """`of` is a formula or a saved proposal. `net` as typed ("100 g"); `keeps_months` unopened and
    `opened_months` after opening come from your tests; `made` is the day the batch was made.
    """

    of: str
    net: str = ""
    made: date | None = None
    keeps_months: int | None = None
    opened_months: int | None = None
    batch: str = ""
    directions: str = ""


def make_label(sources: Sources, wanted: LabelWanted) -> Label:
    """The label for the place the worktable sells in.

    Raises UsageError or OptimiserError when the judge does not pass the formula: what breaks a limit gets no
    label.
    """
    told = opened(sources, wanted.of)
    failed = broken(told.proposal.verdicts)
    if failed:
        what = f"the judge does not pass {told.side.name}: {failed[0].rule.head.sentence}"
        raise OptimiserError(what, "what breaks a rule gets no label; run propose")
    settings = sources.worktable.settings
    rules = _rules_of(settings.jurisdiction)
    amounts = _amounts(told.proposal, told.request)
    names, by_hand = listed(
        [(one, amounts.of(one.id)) for one in amounts.present],
        told.proposal.allergens,
        rules,
        _allergenic(sources),
    )
    keeps, said = _keeps(
        wanted, rules, [lot for lot in sources.worktable.shelf if amounts.of(lot.ingredient)]
    )
    return Label(
        title=told.request.formula.name,
        use=told.request.product.use,
        jurisdiction=rules.jurisdiction,
        ingredients=names,
        net=net_content(wanted.net, settings.decimal, both=rules.jurisdiction == "US") if wanted.net else "",
        keeps=keeps,
        batch=wanted.batch,
        directions=wanted.directions,
        warnings=(*_warnings(sources, told.request, amounts), *USUAL),
        by_hand=(*rules.also, *rules.before, *by_hand, *_settled_later(told), *said),
        blanks=_blanks(wanted, rules, keeps),
        code=provenance_of(sources, told.request).code,
    )


def write_labels(label: Label, stem: str, to: Path, formats: tuple[str, ...]) -> tuple[Path, ...]:
    """One file a format below `to`. Raises UsageError or OptimiserError."""
    writers = {name: partial(writer, label) for name, writer in WRITERS.items()}
    return write_forms(to, f"{Path(stem).stem}-label", formats, writers)


def _rules_of(place: str) -> LabelRules:
    rules = load_label_rules()
    if place.upper() not in rules:
        raise UsageError(f'no rules for labels are known for "{place}"', f"use one of {', '.join(rules)}")
    return rules[place.upper()]


def _amounts(proposal: Proposal, request: Request) -> Amounts:
    lines = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    return Amounts(tuple(sorted(lines.items())), request.ingredients)


def _allergenic(sources: Sources) -> frozenset[str]:
    """Names that some place lists as allergens, in lower case."""
    rows = (row for row in sources.limits if row.family.endswith(LISTED))
    return frozenset(name.casefold() for row in rows for name in (row.substance, *row.aliases))


def _warnings(sources: Sources, request: Request, amounts: Amounts) -> tuple[Remark, ...]:
    settings, product = sources.worktable.settings, request.product
    held: dict[str, Fraction] = {}
    for one in amounts.present:
        for part in one.composition or ():
            more = amounts.of(one.id) * part.high / 100
            held[part.substance] = held.get(part.substance, Fraction(0)) + more
    return (
        *demanded(sources.limits, settings.jurisdiction, settings.rules_date, product, amounts.present),
        *above_threshold(sources.limits_for(product).labels, held),
    )


def _settled_later(told: Opened) -> tuple[Remark, ...]:
    """What nobody can know before the batch is made, or without the seller."""
    names = told.request.ingredients
    return (
        *(
            Remark(one, f"{names[one].name}: allergens not counted, what it is made of is not known.")
            for one in told.proposal.not_counted
        ),
        *(
            Remark(
                line.ingredient,
                f"{names[line.ingredient].name} is added by reading and stands here with its most: "
                "settle its place by what was weighed.",
            )
            for line in told.proposal.lines
            if line.dosed is not None
        ),
    )


def _keeps(wanted: LabelWanted, rules: LabelRules, lots: list[Lot]) -> tuple[Keeps, tuple[Remark, ...]]:
    """The date or the months after opening; a date never lies beyond the first lot to expire."""
    first = _first_to_expire(lots, wanted.made)
    said = (OWN_TEST, *_out_of_date(lots, wanted.made))
    if wanted.keeps_months is None:
        limit = f"; never beyond {first.expires}, when {_named(first)} expires" if first else ""
        return Keeps("", f"not stated: give the months your tests bear out{limit}"), said
    if _by_opening(wanted, rules):
        words = f"{wanted.opened_months} months after opening"
        derived = f"kept longer than {rules.long_months} months unopened, by your tests"
        return Keeps(words, derived, after_opening=wanted.opened_months), said
    if wanted.made is None:
        beyond = f", and never beyond {first.expires}, when {_named(first)} expires" if first else ""
        words = f"{wanted.keeps_months} months from the day it is made{beyond}; give the day to have the date"
        return Keeps("", words), said
    by_tests = months_later(wanted.made, wanted.keeps_months)
    if first is not None and first.expires is not None and first.expires < by_tests:
        derived = f"{_named(first)} expires then; by your tests it would be {by_tests}"
        return Keeps(f"best before {first.expires}", derived, first.expires), said
    derived = f"made {wanted.made}, {wanted.keeps_months} months by your tests"
    return Keeps(f"best before {by_tests}", derived, by_tests), said


def _named(lot: Lot) -> str:
    return f"lot {lot.lot} of {lot.ingredient}"


def _first_to_expire(lots: list[Lot], made: date | None) -> Lot | None:
    """The lot in date that expires first: the first to expire is the first to be used."""
    usable = in_date(lots, made or date.min)
    return next((lot for lot in usable if lot.expires is not None), None)


def _out_of_date(lots: list[Lot], made: date | None) -> tuple[Remark, ...]:
    """Ingredients of which every lot was out of date on the day it was made."""
    names = dict.fromkeys(lot.ingredient for lot in lots)
    found = []
    for name in names:
        own = [lot for lot in lots if lot.ingredient == name]
        if made is not None and all(lot.expires is not None and lot.expires < made for lot in own):
            text = f"No lot of {name} on the shelf was in date on {made}: which was used?"
            found.append(Remark(name, text, "shelf.csv"))
    return tuple(found)


def _by_opening(wanted: LabelWanted, rules: LabelRules) -> bool:
    """Whether the months after opening stand instead of a date."""
    long = rules.long_months is not None and (wanted.keeps_months or 0) > rules.long_months
    return long and wanted.opened_months is not None


def months_later(day: date, months: int) -> date:
    """The same day so many months on, or the last day of that month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _blanks(wanted: LabelWanted, rules: LabelRules, keeps: Keeps) -> tuple[str, ...]:
    """What a person has to write in."""
    who = "Responsible person, address" if rules.jurisdiction in ("EU", "UK") else "Maker, address"
    return (
        who,
        *(() if wanted.net else ("Net content",)),
        *(() if keeps.words else ("Best before",)),
        *(() if wanted.batch else ("Batch number",)),
        *(() if wanted.directions else ("How to use it",)),
    )
