"""The demo worktable, copied and changed for a test, and short ways to ask it something."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import optimiser
from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Impossible, Outcome, Proposal, Proposals
from optimiser.domain.request import GRID, Request, Slot
from optimiser.domain.rules import UseRange
from optimiser.errors import DataError
from optimiser.problems import Problem
from optimiser.requests.sources import Sources
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose, request_for
from optimiser.workflows.worktable import open_worktable
from tests.once import once, state_of

DEMO = Path(optimiser.__file__).parent.parent / "ingredient_data_demo"
FLAGSHIP = "oat-rose-mask"
F = Fraction


def copied(to: Path) -> Path:
    """A copy of the demo that a test may write into."""
    folder = to / "desk"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("__pycache__", "*.py"))
    return folder


@cache
def demo() -> Sources:
    return _kept(open_worktable(DEMO), state_of(DEMO, but=CODE))


def third_of_demo(formula: str) -> Sources:
    return third_of(demo(), formula)


def third_of(sources: Sources, formula: str) -> Sources:
    """A table with one formula, its lines, and every third ingredient of the groups these belong to.

    Questions stay the same and the answers come several times as soon.
    """
    known = sources.worktable.ingredients
    own = set(sources.worktable.formulas[formula].ingredients)
    groups = {known[name].group for name in own}
    kept = own | set([name for name in sorted(known) if known[name].group in groups][::3])
    table = replace(
        sources.worktable,
        ingredients={name: one for name, one in known.items() if name in kept},
        shelf=tuple(lot for lot in sources.worktable.shelf if lot.ingredient in kept),
        formulas={formula: sources.worktable.formulas[formula]},
    )
    return replace(sources, worktable=table, picked={})


def table_in(folder: Path) -> Sources:
    """The worktable in a folder; its problems in words when a test wrote it badly."""
    state = state_of(folder, but=CODE)
    if state == _read[id(demo())][1]:
        return _kept(replace(demo(), worktable=replace(demo().worktable, folder=str(folder))), state)
    try:
        return _kept(open_worktable(folder), state)
    except DataError as fault:
        raise AssertionError([p.sentence() for p in fault.problems if isinstance(p, Problem)]) from fault


CODE = (".py", ".pyc")
MOST_KEPT = 20
_read: dict[int, tuple[Sources, str]] = {}
"""The demo and the worktables read last, each with the digest of its folder as it was then."""


def _kept(sources: Sources, state: str) -> Sources:
    while len(_read) > MOST_KEPT:
        del _read[next(key for key, (one, _) in _read.items() if one is not demo())]
    _read[id(sources)] = sources, state
    return sources


def put(folder: Path, file: str, text: str) -> None:
    (folder / file).write_text(text, encoding="utf-8")


def changed(folder: Path, file: str, change: Callable[[str], str]) -> None:
    """Rewrites a file; a change that changes nothing is a mistake of the test."""
    path = folder / file
    before = path.read_text(encoding="utf-8")
    after = change(before)
    assert after != before, f"{file} was not changed"
    path.write_text(after, encoding="utf-8")


def line_of(text: str, start: str) -> str:
    """The one line of a table that begins so."""
    found = [line for line in text.splitlines() if line.startswith(start)]
    assert len(found) == 1, (start, found)
    return found[0]


def asked(sources: Sources, formula: str, *briefs: str, **said: object) -> Outcome:
    """The answer; what is asked of one state of a folder is found once a run."""
    if id(sources) not in _read:
        return asked_anew(sources, formula, *briefs, **said)
    key = f"asked {_read[id(sources)][1]} {formula} {briefs} {sorted(said.items())!r}"
    return once(key, lambda: asked_anew(sources, formula, *briefs, **said))


def asked_anew(sources: Sources, formula: str, *briefs: str, **said: object) -> Outcome:
    return propose(sources, ask(sources, formula, {"briefs": briefs, **said}))


def closed(sources: Sources, formula: str, *briefs: str, **said: object) -> Request:
    """The request alone, with nothing solved."""
    return request_for(sources, ask(sources, formula, {"briefs": briefs, **said}))


def proposed(sources: Sources, formula: str, *briefs: str, **said: object) -> tuple[Proposal, Request]:
    outcome = asked(sources, formula, *briefs, **said)
    assert isinstance(outcome, Proposals), outcome
    return outcome.proposals[0], outcome.request


def impossible(sources: Sources, formula: str, *briefs: str, **said: object) -> Impossible:
    outcome = asked(sources, formula, *briefs, **said)
    assert isinstance(outcome, Impossible), outcome
    return outcome


def shares(proposal: Proposal) -> dict[str, Fraction]:
    """Share by ingredient, % w/w."""
    found: dict[str, Fraction] = {}
    for line in proposal.lines:
        found[line.ingredient] = found.get(line.ingredient, F(0)) + line.percent
    return found


def slots(proposal: Proposal) -> dict[Slot, Fraction]:
    return {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}


def amounts(proposal: Proposal, request: Request) -> Amounts:
    return Amounts(tuple(sorted(slots(proposal).items())), request.ingredients)


def group_share(proposal: Proposal, request: Request, group: str) -> Fraction:
    """Added up by hand, not by the measures of the program."""
    return sum((v for n, v in shares(proposal).items() if request.ingredients[n].group == group), F(0))


def base_of(request: Request) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for slot, share in request.base.items():
        found[slot.ingredient] = found.get(slot.ingredient, F(0)) + share
    return found


def is_sound(proposal: Proposal, request: Request) -> None:
    """Total exactly 100, whole steps, and every must met by the judge on these very shares."""
    assert sum(line.percent for line in proposal.lines) == 100
    assert all(line.percent > 0 and (line.percent / GRID).denominator == 1 for line in proposal.lines)
    failed = broken(judge(request, slots(proposal)))
    assert not failed, [verdict.rule.head.sentence for verdict in failed]
    musts = {r.head.id for r in request.rules if r.head.rank is None and not isinstance(r, UseRange)}
    assert musts <= {verdict.rule.head.id for verdict in judge(request, slots(proposal))}


def with_commas(text: str) -> str:
    """Decimal points between digits as commas; values of YAML flows in quotes, for a comma parts them."""

    quoted = re.sub(r"([\w-]+): ([^\[\]{}\",\n]*\d\.\d[^\[\]{}\",\n]*)(?=[,}\]\n])", r'\1: "\2"', text)

    def listed(match: re.Match[str]) -> str:
        return "[" + ", ".join(f'"{item.strip()}"' for item in match[1].split(",")) + "]"

    quoted = re.sub(r"\[([^\[\]:{}\"]*\d\.\d[^\[\]:{}\"]*)\]", listed, quoted)
    return re.sub(r"(?<=\d)\.(?=\d)", ",", quoted)
