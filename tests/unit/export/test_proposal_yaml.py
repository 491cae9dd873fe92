"""A saved proposal comes back as it was."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.brief import Brief
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request
from optimiser.domain.selector import AnyOf, Pick
from optimiser.domain.worktable import Settings, Worktable
from optimiser.export.proposal_yaml import proposal_text
from optimiser.loading.proposals import SavedProposal, read_proposal
from optimiser.loading.reference import load_vocabulary
from optimiser.problems import Problem
from optimiser.requests.options import Options
from tests.unit.export.jobs import PROVENANCE

F = Fraction

Job = tuple[Proposal, Request]
OPTIONS = Options(
    briefs=("sensitive",),
    leave_out=(Pick("flag", "strong-clay"), AnyOf((Pick("kind", "clay"), Pick("substance", "Linalool")))),
    instead_of=(("xanthan", "konjac"),),
    only_from="shelf",
    aim=("cheapest", "closest"),
    bare=True,
)


def _table(request: Request) -> Worktable:
    settings = Settings("Test", "EUR", "EU", date(2026, 11, 1), "comma")
    return Worktable(
        "here",
        settings,
        request.ingredients,
        (),
        (),
        {"mask": request.formula},
        {"sensitive": Brief("sensitive", "Sensitive skin")},
    )


def _read(text: str, request: Request, folder: Path) -> tuple[SavedProposal | None, tuple[Problem, ...]]:
    path = folder / "p.yaml"
    path.write_text(text, encoding="utf-8")
    return read_proposal(path, _table(request), load_vocabulary())


def test_what_was_saved_comes_back(mask: Job, tmp_path: Path) -> None:
    proposal, request = mask
    saved, problems = _read(
        proposal_text(proposal, request, OPTIONS, provenance=PROVENANCE), request, tmp_path
    )
    assert problems == ()
    assert saved is not None
    lines = [
        (phase.name, line.ingredient, line.percent, line.fills, line.dosed)
        for phase in saved.phases
        for line in phase.lines
    ]
    assert lines == [(one.phase, one.ingredient, one.percent, one.fills, one.dosed) for one in proposal.lines]
    said = Options(saved.briefs, saved.leave_out, saved.instead_of, saved.only_from, saved.aim, saved.bare)
    assert said == OPTIONS
    assert (saved.formula, saved.batch_g, saved.heading) == ("mask", F(250), "Proposal")
    assert (saved.table, saved.request) == (PROVENANCE.table_digest, PROVENANCE.request_digest)


def test_shares_of_three_decimals_survive(mask: Job, tmp_path: Path) -> None:
    proposal, request = mask
    lines = tuple(
        replace(
            one, percent=one.percent + {"water": F(-766, 1000), "kaolin": F("0.766")}.get(one.ingredient, 0)
        )
        for one in proposal.lines
    )
    text = proposal_text(replace(proposal, lines=lines), request, Options(), provenance=PROVENANCE)
    assert "kaolin: 18.766 %" in text
    saved, problems = _read(text, request, tmp_path)
    assert problems == ()
    assert saved is not None
    assert [line.percent for phase in saved.phases for line in phase.lines] == [one.percent for one in lines]


def test_the_same_proposal_gives_the_same_text_with_a_warning_on_top(mask: Job) -> None:
    text = proposal_text(*mask, OPTIONS, provenance=PROVENANCE)
    assert text == proposal_text(*mask, OPTIONS, provenance=PROVENANCE)
    assert text.startswith("# Computed proposal, not tested.")
    assert "&id" not in text


@pytest.mark.parametrize(
    "name", ["yes", "12:30", "a: b # c", "'\"", "- x", "\u202eevil", "{a: [", "*x &y !z", "\x07\n---\n"]
)
def test_any_name_comes_back_as_text(mask: Job, tmp_path: Path, name: str) -> None:
    proposal, request = mask
    text = proposal_text(proposal, replace(request, name=name), Options(), provenance=PROVENANCE)
    saved, problems = _read(text, request, tmp_path)
    assert problems == ()
    assert saved is not None
    assert saved.name == " ".join(name.replace("\u202e", "").replace("\x07", "").split())


@pytest.mark.parametrize(
    ("find", "put", "says"),
    [
        ("formula: mask", "formula: maks", "a formula of the worktable"),
        ("- sensitive", "- sensible", "a brief of the worktable"),
        ("- konjac: 0.22 %", "- kojnac: 0.22 %", "an ingredient of ingredients.csv"),
        ("- konjac: 0.22 %", "- konjac: lots", "found"),
        ("batch: 250 g", "batch: none", "batch"),
        ("batch: 250 g\n", "", "batch: with a weight"),
        ("format: '1'", "format: '2'", "newer version"),
        ("bare: 'yes'", "bare: perhaps", "yes or no"),
        ("- cheapest", "- dearest", "an aim"),
        ("only_from: shelf", "only_from: attic", "only_from"),
        ("flag:strong-clay", "colour:red", "a selector"),
        ("use: konjac", "use: nothing", "an ingredient"),
        ("water: to 100 %", "water: 50 %", "sum to 100 %"),
        ("heading:", "haeding:", "a known key"),
    ],
)
def test_faults_are_named_with_their_place(mask: Job, tmp_path: Path, find: str, put: str, says: str) -> None:
    text = proposal_text(*mask, OPTIONS, provenance=PROVENANCE)
    assert find in text
    saved, problems = _read(text.replace(find, put, 1), mask[1], tmp_path)
    assert saved is None
    assert re.search(re.escape(says), " ".join(problem.sentence() for problem in problems))
    assert all(problem.file.endswith("p.yaml") for problem in problems)


def test_a_file_that_is_no_proposal_is_said(mask: Job, tmp_path: Path) -> None:
    for text in ("", "[1, 2]", "name: x\n", "a: [\n", "format: '1'\nphases: 3\n"):
        saved, problems = _read(text, mask[1], tmp_path)
        assert saved is None
        assert problems
    assert read_proposal(tmp_path / "none.yaml", _table(mask[1]), load_vocabulary())[1]
