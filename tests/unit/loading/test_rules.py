"""Rules of formulas and briefs: limits, bands about the base, selectors."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.selector import AnyOf, Pick
from optimiser.domain.wanted import Span, Wanted
from tests.unit.loading.folders import MASK, loaded, only, problems_of


def target(folder: Path, text: str) -> Wanted:
    brief = loaded(folder, {"briefs/b.yaml": f"name: B\ntargets:\n  - {text}\n"}).briefs["b"]
    (wanted,) = brief.targets
    return wanted


@pytest.mark.parametrize(
    ("text", "topic", "name", "span"),
    [
        (
            "{share: {kind: clay}, at_least: 18 %, at_most: 30 %}",
            "share",
            "",
            Span(Fraction(18), Fraction(30)),
        ),
        ("{share: {role: humectant}, within: 10 % of base}", "share", "", Span(within_part=Fraction(1, 10))),
        ("{share: {kind: clay}, within: 2 points of base}", "share", "", Span(within_points=Fraction(2))),
        ("{share: {kind: clay}, within: 1 point of base}", "share", "", Span(within_points=Fraction(1))),
        ("{share: {kind: clay}, at_least: 90 % of base}", "share", "", Span(low_part=Fraction(9, 10))),
        ("{level: thickening, at_most: 0.5 %}", "level", "thickening", Span(high=Fraction(1, 2))),
        ("{mean: solids, between: [30 %, 38 %]}", "mean", "solids", Span(Fraction(30), Fraction(38))),
        ("{ph: {between: [4.5, 5.5]}}", "ph", "", Span(Fraction(9, 2), Fraction(11, 2))),
        ("{covers: [mould, bacteria]}", "covers", "bacteria mould", Span()),
        ("{cost: {at_most: 9.50 EUR/kg}}", "cost", "", Span(high=Fraction(19, 2))),
        ("{newcomers: {at_most: 2}}", "newcomers", "", Span(high=Fraction(2))),
        ("{lines: {at_most: 12}}", "lines", "", Span(high=Fraction(12))),
    ],
)
def test_topics(tmp_path: Path, text: str, topic: str, name: str, span: Span) -> None:
    wanted = target(tmp_path, text)
    assert (wanted.topic, wanted.name, wanted.span) == (topic, name, span)


def test_a_ratio_has_two_selectors_and_a_phase(tmp_path: Path) -> None:
    wanted = target(tmp_path, "{ratio: [{kind: gum}, {kind: polyol}], in: A, at_most: 0.1}")
    assert (wanted.of, wanted.over, wanted.phase) == (Pick("kind", "gum"), Pick("kind", "polyol"), "A")
    assert wanted.span == Span(high=Fraction(1, 10))


def test_several_selectors_and_names_become_one(tmp_path: Path) -> None:
    wanted = target(tmp_path, "{share: {any: [{ingredient: china clay}, {substance: aqua}]}, at_most: 30 %}")
    assert wanted.of == AnyOf((Pick("ingredient", "kaolin"), Pick("substance", "Aqua")))


def test_what_every_rule_may_carry(tmp_path: Path) -> None:
    wanted = target(
        tmp_path,
        "{share: {kind: clay}, at_most: 30 %, name: Thin, why: Runs., source: bench, wish: 2, surely: yes}",
    )
    assert (wanted.label, wanted.why, wanted.source, wanted.rank, wanted.surely) == (
        "Thin",
        "Runs.",
        "bench",
        2,
        True,
    )
    assert (wanted.place.file, wanted.place.line) == ("briefs/b.yaml", 3)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("{share: {kind: clay}, within: 10 %}", '"10 %"'),
        ("{share: {kind: clay}}", "none"),
        ("{share: {kind: clay}, at_least: 18}", '"18"'),
        ("{share: {kind: clay}, at_least: 180 %}", '"180 %"'),
        ("{share: {kind: clay}, at_least: 30 %, at_most: 18 %}", "a lower limit above the upper"),
        ("{share: {kind: clay}, between: [1 %]}", "1"),
        ("{share: {kind: clay}, between: [1 %, 2 %], at_least: 1 %}", "both"),
        ("{share: {kind: clays}, at_least: 18 %}", '"clays"'),
        ("{share: {knd: clay}, at_least: 18 %}", '"knd"'),
        ("{share: {substance: Linalol Oxide Of Nowhere}, at_most: 1 %}", '"Linalol Oxide Of Nowhere"'),
        ("{share: clay, at_least: 18 %}", "something else"),
        ("{share: {kind: clay}, at_leest: 18 %, at_most: 20 %}", '"at_leest"'),
        ("{level: thickness, at_most: 1 %}", '"thickness"'),
        ("{mean: hlb, at_most: 1}", '"hlb"'),
        ("{mean: solids, at_most: 1 g}", '"1 g"'),
        ("{ph: {between: [4.5, 15]}}", '"15"'),
        ("{ph: {at_most: 5}}", '"at_most"'),
        ("{covers: [viruses]}", '"viruses"'),
        ("{cost: {at_most: 9.50 USD/kg}}", '"9.50 USD/kg"'),
        ("{newcomers: {at_most: 1.5}}", '"1.5"'),
        ("{viscosity: {within: 30 % of base}}", '"viscosity"'),
        ("{thickness: {within: 3 points of base}}", "points"),
        ("{free_liquid: {at_least: 120 %}}", '"120 %"'),
        ("{free_liquid: {at_least: 20}}", '"20"'),
        ("{free_liquid: {within: 20 % of base}}", '"within"'),
        ("{thickness: {within: 30 %}}", '"30 %"'),
        ("{thickness: {at_most: 20}}", '"20"'),
        ("{thickness: {at_most: 20 mPa.s}}", '"20 mPa.s"'),
        ("{thickness: {at: 1/s}}", "none"),
        ("{thickness: {at_most: 20 Pa.s, at: 0/s}}", '"0/s"'),
        ("{thickness: {at_most: 20 Pa.s, at: 5}}", '"5"'),
        ("{thickness: {at_most: 20 Pa.s}, at_least: 3 Pa.s}", '"at_least"'),
        ("{share: {kind: clay}, at_most: 5 %, wish: first}", '"first"'),
        ("{share: {kind: clay}, at_most: 5 %, surely: perhaps}", '"perhaps"'),
        ("{mean: solids, at_most: 5 %, in: A}", '"A"'),
        ("just words", '"just words"'),
    ],
)
def test_faults(tmp_path: Path, text: str, found: str) -> None:
    problems = problems_of(tmp_path, {"briefs/b.yaml": f"name: B\ntargets:\n  - {text}\n"})
    assert problems[0].line == 3
    assert problems[0].found == found, problems[0].sentence()


def test_a_bare_band_is_refused_with_both_ways_to_mend_it(tmp_path: Path) -> None:
    problem = only(
        problems_of(tmp_path, {"briefs/b.yaml": "name: B\ntargets:\n  - {level: thickening, within: 10 %}\n"})
    )
    assert problem.fix == 'write "10 % of base" (a part of it) or "10 points of base" (points of per cent)'


def test_a_rule_of_a_formula_speaks_of_its_own_phases(tmp_path: Path) -> None:
    rule = "targets:\n  - {share: {kind: gum}, in: C, at_most: 1 %}\n"
    problem = only(problems_of(tmp_path, {"formulas/mask.yaml": MASK + rule}))
    assert (problem.line, problem.found, problem.expected) == (13, '"C"', "a phase of this formula (A, B)")


def test_rule_names_stand_once(tmp_path: Path) -> None:
    rule = "  - {share: {kind: clay}, at_most: 30 %}\n"
    problem = only(problems_of(tmp_path, {"briefs/b.yaml": "name: B\ntargets:\n" + rule + rule}))
    assert (problem.line, problem.found) == (4, "it again (first on line 3)")
