"""Two formulas or saved proposals side by side: line by line, measure by measure."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from optimiser.checks.judge import broken
from optimiser.domain.comparison import Comparison, LinePair, MeasurePair, RulePair, Side
from optimiser.domain.outcome import Proposal, Proposals
from optimiser.domain.request import Request
from optimiser.errors import DataError
from optimiser.export.comparison import comparison_csv, comparison_dict, comparison_html, picture_svg
from optimiser.files.forms import write_forms
from optimiser.loading.proposals import read_proposal
from optimiser.requests.sources import Sources
from optimiser.search.proposal import dress
from optimiser.units.numbers import DecimalMark
from optimiser.workflows.adopt import lineage
from optimiser.workflows.propose import as_it_stands
from optimiser.workflows.sheet import reopened
from optimiser.workflows.worktable import find

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Opened:
    """A formula with its verdicts and measures, as it stands or as it was proposed."""

    side: Side
    proposal: Proposal
    request: Request


def compare(sources: Sources, first: str, second: str) -> Comparison:
    """Each by id or name of a formula, or by the file of a saved proposal (below `proposals/` or a path).

    Raises UsageError, DataError or OptimiserError.
    """
    return _compared(opened(sources, first), opened(sources, second))


def beside(free: Proposals, forced: Proposals, words: str) -> Comparison:
    """The first proposals of two answers to one formula, the second named by what was forced."""
    one, other = free.proposals[0], forced.proposals[0]
    first = Opened(_side("as proposed", free.request.name, "", one, free.request), one, free.request)
    second = Opened(_side(words, forced.request.name, words, other, forced.request), other, forced.request)
    return _compared(first, second)


def history(sources: Sources, formula: str) -> tuple[Comparison, ...]:
    """The formula beside the one it was adopted from, that one beside its own parent, and so on."""
    wanted = find(formula, sources.worktable.formulas, "formula")
    line = lineage(sources.worktable, wanted)
    return tuple(compare(sources, before.id, after.id) for after, before in itertools.pairwise(line))


def opened(sources: Sources, word: str) -> Opened:
    """A formula as it stands, or a saved proposal judged on today's data."""
    path = _proposal_file(sources, word)
    if path is None:
        formula = find(word, sources.worktable.formulas, "formula")
        proposal, request = as_it_stands(sources, formula)
        asked = formula.parent.asked if formula.parent else ""
        asked = "" if asked in formula.name else asked
        return Opened(_side(formula.id, formula.name, asked, proposal, request), proposal, request)
    saved, problems = read_proposal(path, sources.worktable, sources.vocabulary)
    if saved is None:
        raise DataError(problems)
    request, shares = reopened(sources, saved, saved.batch_g)
    proposal = dress(request, shares, (), saved.heading)
    return Opened(_side(path.stem, saved.name, saved.heading, proposal, request), proposal, request)


def _proposal_file(sources: Sources, word: str) -> Path | None:
    """The file of a saved proposal: as given, or in the worktable's own folder for them."""
    if word in sources.worktable.formulas:
        return None
    own = Path(sources.worktable.folder) / "proposals"
    for path in (Path(word), own / word, own / f"{word}.yaml"):
        if path.is_file() and path.resolve().parent.name == "proposals":
            return path
    return None


def _side(identifier: str, name: str, asked: str, proposal: Proposal, request: Request) -> Side:
    groups: dict[str, Fraction] = {}
    for line in proposal.lines:
        group = request.ingredients[line.ingredient].group
        groups[group] = groups.get(group, ZERO) + line.percent
    ranked = sorted(groups.items(), key=lambda pair: (-pair[1], pair[0]))
    return Side(identifier, name, asked, tuple(ranked))


def _compared(one: Opened, other: Opened) -> Comparison:
    return Comparison(
        one.side,
        other.side,
        _lines(one, other),
        _measures(one.proposal, other.proposal),
        _rules(one.proposal, other.proposal),
        _label(one.proposal, other.proposal),
    )


def _lines(one: Opened, other: Opened) -> tuple[LinePair, ...]:
    """In the order of the first, then what only the second has, largest first."""
    here, there = _totals(one.proposal), _totals(other.proposal)
    names = {**other.request.ingredients, **one.request.ingredients}
    dosed = {
        line.ingredient for line in (*one.proposal.lines, *other.proposal.lines) if line.dosed is not None
    }
    new = sorted(set(there) - set(here), key=lambda name: (-there[name], name))
    return tuple(
        LinePair(name, names[name].name, here.get(name, ZERO), there.get(name, ZERO), name in dosed)
        for name in (*here, *new)
    )


def _totals(proposal: Proposal) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for line in proposal.lines:
        found[line.ingredient] = found.get(line.ingredient, ZERO) + line.percent
    return found


def _measures(one: Proposal, other: Proposal) -> tuple[MeasurePair, ...]:
    mine, theirs = ({m.name: m for m in side.measures} for side in (one, other))
    found = []
    for name in dict.fromkeys((*mine, *theirs)):
        here, there = mine.get(name), theirs.get(name)
        known = here or there
        if known is not None:
            values = (here.value if here else None, there.value if there else None)
            found.append(MeasurePair(name, known.unit, *values))
    return tuple(found)


def _rules(one: Proposal, other: Proposal) -> tuple[RulePair, ...]:
    """Musts that at least one side breaks."""
    mine, theirs = ({v.rule.head.sentence: v.met for v in side.verdicts} for side in (one, other))
    failing = (v.rule.head.sentence for side in (one, other) for v in broken(side.verdicts))
    return tuple(RulePair(text, mine.get(text), theirs.get(text)) for text in dict.fromkeys(failing))


def _label(one: Proposal, other: Proposal) -> tuple[str, ...]:
    """Allergens that only one of the two has to name."""
    mine, theirs = ({a.substance for a in side.allergens if a.on_label} for side in (one, other))
    return (
        *(f"{name}: named on the label of the first only" for name in sorted(mine - theirs)),
        *(f"{name}: named on the label of the second only" for name in sorted(theirs - mine)),
    )


def write_comparison(
    found: Comparison, to: Path, formats: tuple[str, ...], decimal: DecimalMark = "point"
) -> tuple[Path, ...]:
    """One file a format below `to`, named after both sides. Raises UsageError or OptimiserError."""
    writers: dict[str, Callable[[], str]] = {
        "html": lambda: comparison_html(found, decimal),
        "csv": lambda: comparison_csv(found),
        "svg": lambda: picture_svg(found, decimal) + "\n",
        "json": lambda: json.dumps(comparison_dict(found), indent=2, ensure_ascii=False) + "\n",
    }
    return write_forms(to, f"{found.first.id}-beside-{found.second.id}", formats, writers)
