"""Briefs, and how one takes over those it builds on."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.brief import Instead
from optimiser.domain.selector import Pick
from optimiser.domain.wanted import Span
from optimiser.loading.briefs import resolve_brief
from tests.unit.loading.folders import loaded, only, problems_of

CLASHES = (
    "id,a,b,when,strength,why,source\nacid-clay,kind:acid,group:clay,ph_low<4,should,Gas.,common practice\n"
)
BASE = """\
name: Base
product: {use: leave-on, area: body}
leave_out:
  - {flag: tree-nut, why: Asked for.}
targets:
  - {share: {kind: clay}, at_most: 30 %, name: Thin}
  - {mean: solids, at_most: 40 %}
aim: cheapest
"""
CHILD = """\
name: Child
also: [base]
product: {use: rinse-off}
leave_out: [{ingredient: rose clay, name: No rose, wish: 1}]
instead_of: [{out: kaolin, use: rose-clay}]
only_from: shelf
keep: [{ingredient: glycerin, within: 20 % of base}, {ingredient: xanthan}]
targets:
  - {share: {kind: clay}, at_most: 20 %}
accept: [{clash: acid-clay, why: Little of both.}]
aim: [closest, cheapest]
"""


def test_a_brief_as_written(tmp_path: Path) -> None:
    files = {"briefs/base.yaml": BASE, "briefs/child.yaml": CHILD, "clashes.csv": CLASHES}
    child = loaded(tmp_path, files).briefs["child"]
    (left,) = child.leave_out
    assert (left.of, left.label, left.rank, left.place.line) == (
        Pick("ingredient", "rose-clay"),
        "No rose",
        1,
        4,
    )
    assert [(one.out, one.use) for one in child.instead_of] == [("kaolin", "rose-clay")]
    assert isinstance(child.instead_of[0], Instead)
    assert (child.only_from, dict(child.accept), child.aim) == (
        "shelf",
        {"acid-clay": "Little of both."},
        ("closest", "cheapest"),
    )
    keeps = [(one.name, one.span) for one in child.targets if one.topic == "keep"]
    assert keeps == [("glycerin", Span(within_part=Fraction(1, 5))), ("xanthan", Span(low_part=Fraction(1)))]


def test_parents_come_first_and_the_child_wins(tmp_path: Path) -> None:
    files = {"briefs/base.yaml": BASE, "briefs/child.yaml": CHILD, "clashes.csv": CLASHES}
    brief = resolve_brief(loaded(tmp_path, files).briefs, "child")
    assert dict(brief.product) == {"use": "rinse-off", "area": "body"}
    assert [str(one.of) for one in brief.leave_out] == ["flag tree-nut", "rose-clay"]
    assert [one.topic for one in brief.targets] == ["mean", "share", "keep", "keep"]
    assert brief.targets[1].span.high == 20
    assert brief.aim == ("closest", "cheapest")


def test_the_parent_s_aim_holds_where_the_child_has_none(tmp_path: Path) -> None:
    files = {"briefs/base.yaml": BASE, "briefs/child.yaml": "name: Child\nalso: base\n"}
    assert resolve_brief(loaded(tmp_path, files).briefs, "child").aim == ("cheapest",)


def test_a_brief_met_twice_counts_once(tmp_path: Path) -> None:
    files = {"briefs/base.yaml": BASE}
    for number in range(60):
        below = "base" if number == 0 else f"a{number - 1}, b{number - 1}"
        files |= {f"briefs/{name}{number}.yaml": f"name: X\nalso: [{below}]\n" for name in "ab"}
    assert len(resolve_brief(loaded(tmp_path, files).briefs, "a59").leave_out) == 1


def test_a_circle_is_a_problem_of_every_brief_in_it(tmp_path: Path) -> None:
    files = {f"briefs/{name}.yaml": f"name: X\nalso: [{other}]\n" for name, other in ("ab", "bc", "ca")}
    found = problems_of(tmp_path, files | {"briefs/d.yaml": "name: X\nalso: [a]\n"})
    assert [problem.file for problem in found] == ["briefs/a.yaml", "briefs/b.yaml", "briefs/c.yaml"]


def test_resolving_a_circle_raises(tmp_path: Path) -> None:
    brief = loaded(tmp_path, {"briefs/base.yaml": BASE}).briefs["base"]
    with pytest.raises(ValueError, match="builds on itself"):
        resolve_brief({"base": type(brief)("base", "Base", also=("base",))}, "base")


@pytest.mark.parametrize(
    ("text", "line", "found", "fix"),
    [
        ("name: B\nalso: [bse]\n", 2, '"bse"', 'did you mean "base"?'),
        ("name: B\naim: cheapst\n", 2, '"cheapst"', 'did you mean "cheapest"?'),
        ("name: B\ntarget: []\n", 2, '"target"', 'did you mean "targets"?'),
        ("name: B\nonly_from: shelff\n", 2, '"shelff"', 'did you mean "shelf"?'),
        ("name: B\nleave_out: [{flag: treenut}]\n", 2, '"treenut"', 'did you mean "tree-nut"?'),
        ("name: B\nleave_out: [{kind: clay, flag: tree-nut}]\n", 2, "something else", ""),
        ("name: B\ninstead_of: [{out: kaolin, use: kaolin}]\n", 2, '"kaolin"', ""),
        ("name: B\ninstead_of: [{out: kaolin}]\n", 2, "none", ""),
        ("name: B\naccept: [{clash: nothing, why: So.}]\n", 2, '"nothing"', ""),
        (
            "name: B\nkeep: [{ingredient: glycerine, at_least: 1 %}]\n",
            2,
            '"glycerine"',
            'did you mean "glycerin"?',
        ),
        ("name: B\nproduct: {usee: leave-on}\n", 2, '"usee"', 'did you mean "use"?'),
        ("name: B\nleave_out: {flag: tree-nut}\n", 2, "a mapping", "write leave_out: [ … ]"),
        ("aim: closest\n", 1, "none", ""),
    ],
)
def test_faults(tmp_path: Path, text: str, line: int, found: str, fix: str) -> None:
    problem = only(problems_of(tmp_path, {"briefs/b.yaml": text, "briefs/base.yaml": BASE}))
    assert (problem.file, problem.line, problem.found) == ("briefs/b.yaml", line, found)
    assert problem.fix.startswith(fix)
