"""From a saved proposal to sheets on disk: judged again first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken, judge
from optimiser.domain.costs import Costs
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Remark, Request, Slot
from optimiser.domain.worktable import Balance
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.sheet import Sheet
from optimiser.export.sheet_csv import sheet_csv
from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_json import sheet_json
from optimiser.export.sheet_model import OnTheBench, build_sheet
from optimiser.export.sheet_paper import record_html, table_html
from optimiser.export.sheet_pdf import pdf_of
from optimiser.export.sheet_xlsx import sheet_xlsx
from optimiser.files.atomic import make_folder, write_atomic
from optimiser.loading.batches import read_batches
from optimiser.loading.proposals import SavedProposal, read_proposal
from optimiser.requests.options import Options
from optimiser.requests.sentences import number
from optimiser.requests.sources import Sources
from optimiser.search import effects, resting
from optimiser.search.changes import changes
from optimiser.search.proposal import dress
from optimiser.search.propose import silent
from optimiser.search.stock import draw
from optimiser.search.telling import roles
from optimiser.trials.expecting import expected_of
from optimiser.units.quantities import read_amount
from optimiser.workflows.propose import Asked, request_for
from optimiser.workflows.provenance import provenance_of
from optimiser.workflows.volumes import Batch, batch_of
from optimiser.workflows.weigh import Weighed, weigh_out
from optimiser.workflows.worktable import home_of, open_worktable

PAPERS: dict[str, Callable[[Sheet], str]] = {"full": sheet_html, "table": table_html, "record": record_html}
WRITERS: dict[str, Callable[[Sheet], str | bytes]] = {
    "csv": sheet_csv,
    "json": sheet_json,
    "xlsx": sheet_xlsx,
}
FORMATS = ("html", "pdf", *WRITERS)
FIRST_AT = 5
"""Times the largest batch made so far from which a size is new (common practice)."""


@dataclass(frozen=True, slots=True)
class SheetWanted:
    """`batch`, `density` and `balance` as typed ("8 fl oz", "1.1 g/ml", "0.01 g").

    `because` is the reason to print what is held; `dilute` names lines to be weighed as one part in ten.
    `paper` is what HTML and PDF show: `full`, one page for the `table`, or the batch `record`. `trial` names
    the trial the sheet is for; the file is called after it.
    """

    proposal: Path
    to: Path
    formats: tuple[str, ...] = ("html",)
    batch: str = ""
    density: str = ""
    balance: str = ""
    because: str = ""
    dilute: tuple[str, ...] = ()
    paper: str = "full"
    trial: str = ""


def write_sheets(wanted: SheetWanted, tell: Callable[[str], None] = silent) -> tuple[Path, ...]:
    """Writes one file a format and returns their paths; `tell` hears what was assumed of the batch.

    Raises OptimiserError when the judge no longer passes the proposal, UsageError when something is held
    and no reason is given.
    """
    _known(wanted)
    sheet = make_sheet(wanted)
    if sheet.batch_note:
        tell(f"batch: {sheet.batch_note}")
    written = []
    tail = "" if wanted.paper == "full" else f"-{wanted.paper}"
    for name in wanted.formats:
        path = (
            wanted.to
            / f"{wanted.trial or wanted.proposal.stem}{tail if name in ('html', 'pdf') else ''}.{name}"
        )
        make_folder(path.parent)
        write_atomic(path, _written(sheet, name, wanted.paper))
        written.append(path)
    return tuple(written)


def _written(sheet: Sheet, name: str, paper: str) -> str | bytes:
    if name in WRITERS:
        return WRITERS[name](sheet)
    page = PAPERS[paper](sheet)
    return pdf_of(page) if name == "pdf" else page


def _known(wanted: SheetWanted) -> None:
    for name in wanted.formats:
        if name not in FORMATS:
            raise UsageError(f'no sheet format is called "{name}"', f"use {', '.join(FORMATS)}")
    if wanted.paper not in PAPERS:
        raise UsageError(f'no paper is called "{wanted.paper}"', f"use {', '.join(PAPERS)}")


def make_sheet(wanted: SheetWanted, sources: Sources | None = None) -> Sheet:
    """The sheet as a value, from the proposal's own worktable (the folder above `proposals`), which is read
    anew where no `sources` of it are at hand.
    """
    sources = sources or open_worktable(home_of(wanted.proposal))
    saved, problems = read_proposal(wanted.proposal, sources.worktable, sources.vocabulary)
    if saved is None:
        raise DataError(problems)
    settings = sources.worktable.settings
    asked = wanted.batch
    batch = Batch(saved.batch_g)
    if asked:
        batch = batch_of(asked, settings.decimal, wanted.density, _amounts(sources, saved))
    request, shares = reopened(sources, saved, batch.grams)
    _judged(request, shares)
    balances = _balances(wanted.balance, settings.balances, settings.decimal == "comma")
    done = weigh_out(lambda size: reopened(sources, saved, size), batch.grams, balances, wanted.dilute)
    weighed = dress(replace(request, grid=None), done.plan.shares, (), saved.heading)
    proposal = _as_proposed(weighed, request, shares)
    request = _released(request, proposal, wanted.because)
    return build_sheet(
        proposal,
        request,
        weighing=done.plan.weighing,
        batch_note=batch.note,
        asked_g=batch.grams,
        bench=_on_the_bench(sources, saved, done),
        provenance=provenance_of(sources, request),
        title=saved.name,
        decimal=settings.decimal,
        trial=wanted.trial,
    )


def _as_proposed(weighed: Proposal, request: Request, shares: dict[Slot, Fraction]) -> Proposal:
    """The weighed proposal, with the changes told of the shares that were proposed.

    A balance's step moves a line a little: that is no change of the formula, and not what a rule held it at.
    """
    rounded = effects.sets_off(
        request, {Slot(one.ingredient, one.phase): one.percent for one in weighed.lines}
    )
    foretold = tuple(remark for remark in weighed.sets_off if remark not in rounded)
    return replace(
        weighed,
        changes=changes(request, shares, judge(request, shares)),
        roles=roles(request, shares),
        sets_off=(*foretold, *effects.sets_off(request, shares)),
    )


def _on_the_bench(sources: Sources, saved: SavedProposal, done: Weighed) -> OnTheBench:
    """Lots to use, jars to fill, and whether nothing so large was made yet."""
    table, batch_g = sources.worktable, done.plan.weighing.batch_g
    needed: dict[str, Fraction] = {}
    for (slot, _), weight in zip(done.lines, done.plan.weighing.weights, strict=True):
        needed[slot.ingredient] = needed.get(slot.ingredient, Fraction(0)) + weight.grams
    drawn = draw(table.shelf, needed, table.settings.rules_date)
    lots = {name: tuple(one.lot.lot for one in taken) for name, taken in drawn.taken.items()}
    return OnTheBench(
        lots,
        _filling(table.costs, batch_g),
        _first_of_size(sources, saved, batch_g),
        table.costs.waste,
        expected_of(replace(done.request, grid=None), done.plan.shares),
    )


def _filling(costs: Costs, batch_g: Fraction) -> str:
    if costs.jar is None:
        return ""
    each = costs.jar.holds_g + costs.jar.extra_g
    jars = batch_g * (1 - costs.waste) // each
    lost = f", {number(costs.waste * 100)} % left in pots" if costs.waste else ""
    return f"Expected: {jars} jars of {number(costs.jar.holds_g)} g, each filled with {number(each)} g{lost}."


def _first_of_size(sources: Sources, saved: SavedProposal, batch_g: Fraction) -> str:
    """The same against all batches of the worktable's own files."""
    batches, _ = read_batches(Path(sources.worktable.folder))
    made = [one.grams for one in batches if one.formula == saved.formula]
    return first_of_size(batch_g, max((*made, saved.batch_g)))


def first_of_size(batch_g: Fraction, largest: Fraction) -> str:
    """What to mind of a batch that is far above the largest made so far; nothing where it is not."""
    if batch_g <= FIRST_AT * largest:
        return ""
    return (
        f"First at this size (up to now {number(largest)} g): heating, cooling, swelling and stirring take "
        "longer, and how long is a matter of trial; make one more trial on the way up"
    )


def _amounts(sources: Sources, saved: SavedProposal) -> Amounts:
    return Amounts(tuple(sorted(_shares(saved).items())), sources.worktable.ingredients)


def _shares(saved: SavedProposal) -> dict[Slot, Fraction]:
    return {Slot(line.ingredient, phase.name): line.percent for phase in saved.phases for line in phase.lines}


def reopened(
    sources: Sources, saved: SavedProposal, batch_g: Fraction
) -> tuple[Request, dict[Slot, Fraction]]:
    """The request the proposal answers, closed again on today's data, and the proposal's shares."""
    formula = replace(sources.worktable.formulas[saved.formula], batch_g=batch_g)
    said = saved.leave_out, saved.instead_of, saved.only_from, saved.aim, saved.bare, saved.firm, saved.moved
    options = Options(saved.briefs, *said)
    request = request_for(sources, Asked(formula, options))
    shares = _shares(saved)
    missing = sorted({slot.ingredient for slot in shares} - set(request.ingredients))
    if missing:
        aside = {item.ingredient: item.reason for item in request.set_aside}
        raise OptimiserError(
            f"{missing[0]} of the proposal is not considered any more: {aside.get(missing[0], 'it is gone')}",
            "run propose again",
        )
    return request, shares


def _judged(request: Request, shares: dict[Slot, Fraction]) -> None:
    failed = broken(judge(request, shares))
    if failed:
        raise OptimiserError(
            f"the judge does not pass this proposal on today's data: {failed[0].rule.head.sentence}",
            "run propose again",
        )


def _released(request: Request, proposal: Proposal, because: str) -> Request:
    """What is held prints only with a reason, and the reason is printed too.

    Held are remarks on lines that are there, and numbers nobody looked up that law or safety rests on; one
    that gives the formula its character stands on the sheet and holds nothing.
    """
    present = {line.ingredient for line in proposal.lines}
    shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    held = [r.text for r in request.remarks if r.about in present]
    held += [r.text for r in resting.held(request, shares, proposal.verdicts)]
    if not held:
        return request
    if not because.strip():
        raise UsageError(f"held: {' '.join(held)}", 'print it all the same with --because "your reason"')
    note = Remark("held", f"Held, and printed because: {because.strip()}. {' '.join(held)}")
    return replace(request, by_hand=(note, *request.by_hand))


def _balances(text: str, own: tuple[Balance, ...], comma: bool) -> tuple[Balance, ...]:
    if not text:
        return own
    reads = read_amount(text, "comma" if comma else "point")
    if not isinstance(reads, Fraction) or reads <= 0:
        raise UsageError(f'the balance "{text}" cannot be read', 'give what it reads, such as "0.01 g"')
    return (Balance(reads, max(balance.up_to_g for balance in own)),)
