"""A formula by phase: shares, what each line is there for, what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.outcome import Measure, Proposal
from optimiser.domain.request import Request
from optimiser.export.plain import digits_of
from optimiser.page.views.figures import Figures
from optimiser.requests.sentences import first_upper
from optimiser.search.labelling import allergen_sentences

ZERO, HUNDRED = Fraction(0), Fraction(100)


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line: share in %, roles in words, cost per kg of the formula. `base` and `moved` beside a base."""

    id: str
    name: str
    inci: str
    share: str
    roles: str
    cost: str
    note: str = ""
    base: str = ""
    moved: str = ""
    state: str = ""


@dataclass(frozen=True, slots=True)
class PhaseBlock:
    name: str
    title: str
    lines: tuple[LineRow, ...]


@dataclass(frozen=True, slots=True)
class MeasureRow:
    name: str
    base: str
    value: str
    unit: str
    spread: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What goes with a formula, sentence by sentence."""

    measures: tuple[MeasureRow, ...]
    warnings: tuple[str, ...]
    allergens: tuple[str, ...]
    on_paper: tuple[str, ...]


def blocks_of(proposal: Proposal, request: Request, figures: Figures) -> tuple[PhaseBlock, ...]:
    """Lines by phase, in the formula's order; phases without a line are left out."""
    titles = {phase.name: phase.title for phase in request.formula.phases}
    names = dict.fromkeys((*titles, *(line.phase for line in proposal.lines)))
    found = []
    for name in names:
        lines = tuple(
            _row(proposal, request, n, figures) for n, line in enumerate(proposal.lines) if line.phase == name
        )
        if lines:
            found.append(PhaseBlock(name, titles.get(name, ""), lines))
    return tuple(found)


def gone_of(proposal: Proposal, request: Request, figures: Figures) -> tuple[LineRow, ...]:
    """Lines of the base that the proposal has no more."""
    here = {(line.ingredient, line.phase) for line in proposal.lines}
    return tuple(
        LineRow(
            slot.ingredient,
            request.ingredients[slot.ingredient].name,
            request.ingredients[slot.ingredient].inci,
            "–",
            _roles(request, slot.ingredient),
            "",
            "",
            figures.fixed(share),
            "out",
            "out",
        )
        for slot, share in sorted(request.base.items())
        if (slot.ingredient, slot.phase) not in here
    )


def facts_of(proposal: Proposal, request: Request, figures: Figures) -> Facts:
    return Facts(
        measures_of(proposal, figures),
        tuple(one.text for one in proposal.warnings),
        tuple(allergen_sentences(proposal, request)),
        tuple(one.text for one in proposal.on_paper),
    )


def measures_of(proposal: Proposal, figures: Figures) -> tuple[MeasureRow, ...]:
    rows = []
    for one in proposal.measures:
        digits = digits_of(one.name, one.unit)
        spread = _spread(one, figures, digits)
        value, base = figures.fixed(one.value, digits), figures.fixed(one.base, digits)
        rows.append(MeasureRow(first_upper(one.name), base, value, one.unit, spread))
    return tuple(rows)


def _spread(one: Measure, figures: Figures, digits: int) -> str:
    """`44.6 to 51.1`; `9.9 and more` where the upper end cannot be told."""
    if one.low is None or one.low == one.high:
        return ""
    low = figures.short(one.low, digits)
    return f"{low} and more" if one.high is None else f"{low} to {figures.short(one.high, digits)}"


def cost_text(proposal: Proposal, request: Request, figures: Figures) -> str:
    if proposal.cost_per_kg is None:
        return "cost not known: a price is missing"
    return f"{figures.fixed(proposal.cost_per_kg, 2)} {request.currency}/kg"


def _row(proposal: Proposal, request: Request, number: int, figures: Figures) -> LineRow:
    line = proposal.lines[number]
    ingredient = request.ingredients[line.ingredient]
    note = f"at most; to {line.dosed.to}" if line.dosed else "makes up 100 %" if line.fills else ""
    price = ingredient.price_per_kg
    cost = figures.fixed(price * line.percent / HUNDRED, 2) if price is not None else "–"
    moved, state = figures.signed(line.moved), "moved"
    if not line.base:
        moved, state = "new", "new"
    elif not line.moved:
        moved, state = "", ""
    base = figures.fixed(line.base) if line.base else "–"
    share = figures.fixed(line.percent)
    roles = _roles(request, line.ingredient)
    return LineRow(
        line.ingredient, ingredient.name, ingredient.inci, share, roles, cost, note, base, moved, state
    )


def _roles(request: Request, ingredient: str) -> str:
    return ", ".join(role.replace("-", " ") for role in request.ingredients[ingredient].roles)
