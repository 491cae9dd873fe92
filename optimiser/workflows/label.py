"""The label of a formula or a saved proposal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import partial
from pathlib import Path

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken
from optimiser.domain.batches import Batch
from optimiser.domain.label import Keeps, Label, LabelRules
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Remark, Request, Slot
from optimiser.errors import OptimiserError, UsageError
from optimiser.export.label import label_html, label_json, label_text
from optimiser.files.forms import write_forms
from optimiser.law.allergens import LISTED
from optimiser.law.ingredient_list import listed
from optimiser.law.label_warnings import above_threshold, demanded
from optimiser.loading.batches import read_batches
from optimiser.loading.reference import load_label_rules
from optimiser.requests.sources import Sources
from optimiser.units.net_content import net_content
from optimiser.workflows.compare import Opened, opened
from optimiser.workflows.keeping import Lots, Tested, keeps_of, lots_of_the_batch, lots_on_the_shelf
from optimiser.workflows.provenance import provenance_of

WRITERS: Mapping[str, Callable[[Label], str]] = {"html": label_html, "txt": label_text, "json": label_json}
CUSTOM = "common practice"
USUAL = (
    Remark("skin", "For outer use. Keep out of the eyes. Not on broken or irritated skin.", CUSTOM),
    Remark("patch", "Try on a small spot first; stop when the skin reacts.", CUSTOM),
    Remark("children", "Keep out of the reach of children. Not for children under 3.", CUSTOM),
)


@dataclass(frozen=True, slots=True)
class LabelWanted:
    """`of` is a formula or a saved proposal. `net` as typed ("100 g"); `keeps_months` unopened and
    `opened_months` after opening come from your tests; `made` is the day the batch was made. A `batch` whose
    file is there brings its day and the lots it was made with.
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
        _named_as(told),
    )
    batch = _batch(sources, wanted.batch, told.side.id)
    tested = Tested(wanted.keeps_months, wanted.opened_months, wanted.made or (batch.made if batch else None))
    keeps, said = keeps_of(tested, rules, _lots(sources, amounts, batch, tested.made))
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
        rules=rules.sources,
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


def _named_as(told: Opened) -> dict[str, str]:
    """The name under which the law wants a listed member of a group, by its own name in lower case."""
    return {name.casefold(): one.name for one in told.request.labels for name, _ in one.members}


def _batch(sources: Sources, number: str, of: str) -> Batch | None:
    """The batch of that number where its file is there and it is one of this formula."""
    batches, _ = read_batches(Path(sources.worktable.folder))
    return next(
        (one for one in batches if one.id == number and of in (one.formula, Path(one.proposal).stem)), None
    )


def _lots(sources: Sources, amounts: Amounts, batch: Batch | None, made: date | None) -> Lots:
    """The batch's own lots, or what the shelf holds of the formula."""
    table = sources.worktable
    if batch is not None:
        return lots_of_the_batch(batch, table.shelf, table.ingredients)
    day = made or table.settings.rules_date
    return lots_on_the_shelf(table.shelf, {one.id: one for one in amounts.present}, day)


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
