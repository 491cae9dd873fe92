"""Builds the trial-batch sheet of a proposal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from optimiser.domain.formula import Phase
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Change, Proposal, ProposedLine
from optimiser.domain.request import Remark, Request, Slot
from optimiser.domain.trials import Expected
from optimiser.export.acidity_sheet import acidity_of, target_of
from optimiser.export.plain import clean
from optimiser.export.provenance import Provenance
from optimiser.export.sheet import ChangeRow, How, Note, Sheet, SheetLine, SheetPhase
from optimiser.export.sheet_acidity import Dosing, dosings_of, expected_of
from optimiser.export.sheet_checks import before_starting, checks_of, foretold, of_the_jar, on_paper
from optimiser.export.sheet_foretold import by_role, foretold_checks
from optimiser.export.sheet_steps import Bench, steps_of
from optimiser.export.wording import Wording, joined, sentence
from optimiser.search.weigh_plan import makes_a_stock
from optimiser.search.weighing import FEWEST_STEPS, STOCK, Weighing, Weight
from optimiser.units.numbers import DecimalMark, places_of

STATUS = "Computed proposal, not tested"
BLANKS = ("Trial no.", "Date", "Made by", "Checked by", "Cleaned by")
FOOT = (
    "Not for children under 3.",
    "Selling needs a qualified safety assessment under local law.",
)
PATCH = "First use on skin: a small spot on the inside of the elbow, looked at after 24 and 48 h."


@dataclass(frozen=True, slots=True)
class OnTheBench:
    """What the worktable knows beside the proposal: lots to use, jars to fill, what is new of its size.

    `lost` is the part of a batch that stays in pots, `expected` what the finished batch should read.
    """

    lots: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    filling: str = ""
    first_of_size: str = ""
    lost: Fraction = Fraction(0)
    expected: tuple[Expected, ...] = ()


@dataclass(frozen=True, slots=True)
class _Job:
    """What every part of the sheet is made from."""

    proposal: Proposal
    request: Request
    weighing: Weighing
    wording: Wording
    places: int
    bench: OnTheBench

    @property
    def filling(self) -> str:
        return clean(self.bench.filling)

    @property
    def first_of_size(self) -> tuple[str, ...]:
        return tuple(sentence(text) for text in (self.bench.first_of_size,) if text)

    @property
    def batch(self) -> str:
        return self.wording.grams(self.weighing.batch_g, self.places)

    @property
    def present(self) -> tuple[Ingredient, ...]:
        """Ingredients of the proposal in line order, each once."""
        known = self.request.ingredients
        return tuple(
            known[one]
            for one in dict.fromkeys(line.ingredient for line in self.proposal.lines)
            if one in known
        )


def build_sheet(
    proposal: Proposal,
    request: Request,
    *,
    weighing: Weighing,
    provenance: Provenance,
    title: str,
    decimal: DecimalMark = "point",
    batch_note: str = "",
    asked_g: Fraction | None = None,
    bench: OnTheBench | None = None,
    trial: str = "",
) -> Sheet:
    """The sheet of a proposal weighed out line by line; `batch_note` says where the batch comes from.

    `asked_g` is the batch that was asked for, where the balances made another of it.
    """
    filler = next((i for i, line in enumerate(proposal.lines) if line.fills), 0)
    places = max(weight.places for weight in _shown(weighing.weights))
    job = _Job(
        proposal, request, weighing, Wording(request.ingredients, decimal), places, bench or OnTheBench()
    )
    sheet = _sheet(job, filler, title=title, provenance=provenance)
    note = "; ".join(filter(None, (clean(batch_note), _batch_note(job, asked_g))))
    blanks = (f"Trial {clean(trial)}", *BLANKS[1:]) if trial else BLANKS
    return replace(sheet, batch_note=note, blanks=blanks)


def _sheet(job: _Job, filler: int, *, title: str, provenance: Provenance) -> Sheet:
    proposal, request = job.proposal, job.request
    cautions = _cautions(job)
    lines = _lines(job, cautions)
    beside = {line.ingredient for line in proposal.lines}
    told = acidity_of(request, {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines})
    reads = {number: weight.reads_g for number, weight in enumerate(job.weighing.weights, 1)}
    dosings = dosings_of(told, lines, reads, job.weighing.batch_g)
    dosed = tuple(line for _, line in lines if line.dosed and target_of(line.dosed) is not None)
    phases = _phases(job, lines, filler, dosings)
    stocks = _stocks(job, filler)
    return Sheet(
        title=clean(title),
        formula=clean(request.formula.name),
        heading=clean(proposal.heading),
        asked=clean(request.name),
        status=STATUS,
        batch_g=job.weighing.batch_g,
        batch_note="",
        places=job.places,
        percent_places=_percent_places(proposal),
        decimal=job.wording.decimal,
        blanks=BLANKS,
        before=(*job.first_of_size, *before_starting(job.present), *stocks, *_open_steps(phases)),
        stocks=stocks,
        roles=by_role(proposal.lines, request.ingredients),
        filling=job.filling,
        phases=phases,
        checks=(
            *checks_of(request, job.present, job.batch, job.wording, job.bench.lost),
            *foretold_checks(job.bench.expected, job.wording),
        ),
        cautions=tuple(sentence(one.text) for one in cautions if one.about not in beside),
        changes=_changes(job),
        on_paper=(*on_paper(proposal, job.present, job.wording), *foretold(proposal, request)),
        foretold=of_the_jar(proposal),
        unmet=_unmet(job),
        sets_off=_notes(proposal.sets_off),
        by_hand=_notes(request.by_hand),
        rests_on=_notes(proposal.rests_on, job.wording),
        foot=FOOT,
        provenance=provenance,
        expected=expected_of(told, dosings, dosed, job.wording),
    )


def _stocks(job: _Job, filler: int) -> tuple[str, ...]:
    """How each stock of one part in ten is made: enough of it that the balance reads its ingredient well."""
    w, found = job.wording, []
    into = w.name(job.proposal.lines[filler].ingredient)
    for line, weight in zip(job.proposal.lines, job.weighing.weights, strict=True):
        if weight.stock_g is None:
            continue
        least = max(FEWEST_STEPS * weight.reads_g, weight.stock_g / STOCK)
        part = -(-least // weight.reads_g) * weight.reads_g
        rest = w.grams(part * (STOCK - 1), weight.places)
        found.append(
            f"Stock of {w.name(line.ingredient)}: {w.grams(part, weight.places)} in {rest} of {into}, "
            f"stirred until clear; {w.grams(weight.stock_g, weight.places)} of it go into this batch, "
            "the rest is labelled or thrown away the same day."
        )
    return tuple(found)


def _shown(weights: tuple[Weight, ...]) -> tuple[Weight, ...]:
    """Weights with the decimals they are printed with: a topped-up one shows its top-up too."""
    return tuple(replace(w, places=max(w.places, w.top_up_places)) if w.top_up_g else w for w in weights)


def _percent_places(proposal: Proposal) -> int:
    shares = [share for line in proposal.lines for share in (line.percent, line.base)]
    shares += [share for change in proposal.changes for share in (change.before, change.after)]
    return max(1, *(3 if (places := places_of(share)) is None else min(places, 3) for share in shares))


def _batch_note(job: _Job, asked_g: Fraction | None) -> str:
    if asked_g is None or job.weighing.batch_g == asked_g:
        return ""
    return f"asked: {job.wording.number(asked_g)} g, rounded to what the balance reads"


def _lines(job: _Job, cautions: tuple[Remark, ...]) -> tuple[tuple[str, SheetLine], ...]:
    """(phase, line) in the proposal's order; a caution stands at the first line of its ingredient."""
    found, spoken = [], set[str]()
    pairs = zip(job.proposal.lines, job.weighing.weights, _shown(job.weighing.weights), strict=True)
    for number, (line, weight, shown) in enumerate(pairs, 1):
        ingredient = job.request.ingredients.get(line.ingredient)
        here = (
            ()
            if line.ingredient in spoken
            else tuple(sentence(c.text) for c in cautions if c.about == line.ingredient)
        )
        spoken.add(line.ingredient)
        found.append(
            (
                line.phase,
                SheetLine(
                    number=number,
                    ingredient=line.ingredient,
                    name=job.wording.name(line.ingredient),
                    inci=clean(ingredient.inci) if ingredient else "",
                    old=line.base,
                    new=line.percent,
                    grams=weight.weighed_g,
                    places=shown.places,
                    low=Fraction(0) if line.dosed else weight.low,
                    high=weight.weighed_g if line.dosed else weight.high,
                    came=line.base == 0,
                    dosed=clean(line.dosed.to) if line.dosed else "",
                    notes=_weighing_notes(line, weight, job),
                    cautions=here,
                    lots=tuple(clean(lot) for lot in job.bench.lots.get(line.ingredient, ())),
                ),
            )
        )
    return tuple(found)


def _weighing_notes(line: ProposedLine, weight: Weight, job: _Job) -> tuple[str, ...]:
    w = job.wording
    found = []
    if line.dosed:
        found.append(f"A ceiling: dosed to {clean(line.dosed.to)}, see the steps.")
    if weight.stock_g is not None:
        inside = w.number(weight.grams, 4)
        found.append(f"Weighed as its stock of one part in {STOCK}, which holds {inside} g of it.")
    elif weight.smallest_batch_g is not None:
        ingredient = job.request.ingredients.get(line.ingredient)
        stock = "a pre-dilution, " if ingredient and not line.dosed and makes_a_stock(ingredient) else ""
        found.append(
            f"Under {FEWEST_STEPS} steps of {w.number(weight.reads_g)} g: {stock}a finer balance "
            f"or a bigger batch ({w.number(weight.smallest_batch_g)} g or more)."
        )
    if weight.top_up_g:
        most = w.grams(weight.weighed_g - weight.top_up_g, weight.places)
        found.append(
            f"{most} on the coarse balance, {w.grams(weight.top_up_g, weight.top_up_places)} on the fine one."
        )
    if weight.portions > 1:
        found.append(f"More than the balance carries: weigh in {weight.portions} portions.")
    return tuple(found)


def _cautions(job: _Job) -> tuple[Remark, ...]:
    """The proposal's warnings as they are ranked, then the skin trial, which is never left out."""
    own = [one for one in job.proposal.warnings if clean(one.text)]
    return (*dict.fromkeys(own), Remark("", PATCH, "common practice"))


def _phases(
    job: _Job, lines: tuple[tuple[str, SheetLine], ...], filler: int, dosings: tuple[Dosing, ...]
) -> tuple[SheetPhase, ...]:
    fills = job.proposal.lines[filler]
    first = {dosing.line.number: dosing.first() for dosing in dosings}
    bench = Bench(job.request.formula, lines, (fills.ingredient, fills.phase), job.wording, job.batch, first)
    found: list[SheetPhase] = []
    count = 0
    for phase in _in_order(job.request.formula.phases, lines):
        steps = steps_of(bench, phase, count + 1)
        count += len(steps)
        old = sum(
            (share for slot, share in job.request.base.items() if slot.phase == phase.name), Fraction(0)
        )
        here = bench.of_phase(phase.name)
        curves = tuple(d.sheet_curve(job.request.ph_window) for d in dosings if d.line in here)
        found.append(SheetPhase(clean(phase.name), clean(phase.title), here, steps, old, curves))
    return tuple(phase for phase in found if phase.lines)


def _open_steps(phases: tuple[SheetPhase, ...]) -> tuple[str, ...]:
    """Steps that somebody has to look at or decide before the batch is begun."""
    steps = [step for phase in phases for step in phase.steps]
    undecided = [str(step.number) for step in steps if not step.ready]
    marked = [str(step.number) for step in steps if step.ready and step.check]
    found = []
    if undecided:
        found.append(f"Step{'s' if len(undecided) > 1 else ''} {joined(undecided)}: way of adding decided.")
    if marked:
        found.append(
            f"Step{'s' if len(marked) > 1 else ''} {joined(marked)}: still right without what went out."
        )
    return tuple(found)


def _in_order(phases: tuple[Phase, ...], lines: tuple[tuple[str, SheetLine], ...]) -> tuple[Phase, ...]:
    """The formula's phases, then any that only the proposal has."""
    known = {phase.name for phase in phases}
    return (
        *phases,
        *(Phase(name, "", ()) for name in dict.fromkeys(name for name, _ in lines) if name not in known),
    )


def _changes(job: _Job) -> tuple[ChangeRow, ...]:
    reasons = {rule.head.id: rule.head for rule in job.request.rules}
    rows = []
    for change in job.proposal.changes:
        because = tuple(
            dict.fromkeys(
                " ".join(filter(None, (sentence(head.sentence), _upper(sentence(head.why)))))
                for one in change.because
                if (head := reasons.get(one)) is not None
            )
        )
        if change.reasons:
            because = tuple(sentence(one) for one in change.reasons)
        if not because and change.ingredient == job.request.filler.ingredient:
            because = ("It makes up 100 %.",)
        how: How = "out" if not change.after else "in" if not change.before else "moved"
        rows.append(
            ChangeRow(
                job.wording.name(change.ingredient),
                how,
                change.before,
                change.after,
                because,
                _work(change, job),
            )
        )
    order = {"out": 0, "in": 1, "moved": 2}
    return tuple(sorted(rows, key=lambda row: (order[row.how], -abs(row.new - row.old), row.name)))


def _work(change: Change, job: _Job) -> tuple[str, ...]:
    """Who does the work of an ingredient that went, role by role."""
    found = []
    for answer in job.proposal.roles:
        if answer.removed == change.ingredient:
            now = joined(
                f"{job.wording.name(one)} {job.wording.number(share)} %" for one, share in answer.now
            )
            found.append(f"{clean(answer.role).replace('-', ' ')}: now {now or 'no line'}")
    return tuple(found)


def _unmet(job: _Job) -> tuple[Note, ...]:
    """Wishes that were not reached, by rank, with what is missing."""
    found = []
    for verdict in sorted(job.proposal.unmet_wishes, key=lambda v: (v.rule.head.rank or 0, v.rule.head.id)):
        short = (
            ""
            if verdict.margin is None
            else f"{job.wording.number(abs(verdict.margin))} {clean(verdict.unit)}".strip()
        )
        text = sentence(verdict.rule.head.sentence)
        found.append(
            Note(f"wish {verdict.rule.head.rank}", f"{text} It is missed by {short}." if short else text)
        )
    return tuple(found)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _notes(remarks: tuple[Remark, ...], wording: Wording | None = None) -> tuple[Note, ...]:
    names: Mapping[str, Ingredient] = wording.ingredients if wording else {}
    return tuple(
        Note(
            wording.name(one.about) if wording and one.about in names else clean(one.about),
            sentence(one.text),
            clean(one.source),
        )
        for one in remarks
    )
