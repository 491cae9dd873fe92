"""Complete lists of conflicts and cures of published models, by side of a limit, with their sums.

M. H. Liffiton, K. A. Sakallah, "Algorithms for Computing Minimal Unsatisfiable Subsets of Constraints",
Journal of Automated Reasoning 40 (2008) 1-33; the at-most-one and parity examples of PySAT; the preference
example of CPMpy; SAS/OR User's Guide: Mathematical Programming, The OPTLP Procedure, "Finding an Irreducible
Infeasible Set"; MOSEK documentation, "Debugging infeasible problems", and its deletion filter tutorial;
Pyomo, tests of the minimal infeasible system finder; R. Fourer, D. M. Gay, B. W. Kernighan, AMPL, chapter 2
(diet2.dat); Netlib lp/infeas, J. W. Chinneck (1993).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.explain.deciding import Caps, Judge, Least, least
from optimiser.explain.repairs import elastic
from optimiser.explain.sides import Member, members, moved
from optimiser.model.rows import Model
from optimiser.solver.interface import Limits
from optimiser.workflows.explain_model import ModelExplanation, explain_model
from tests.explained import check, conflicts, cures, is_impossible, names, new_limits
from tests.published.core import load

MANY = 10**6


def hard(_model: Model, member: Member) -> bool:
    """Limits, whole numbers and rows called H… always hold in the yes-or-no systems."""
    return member.what != "row" or member.name[0] == "H"


def complete(model: Model) -> ModelExplanation:
    found = explain_model(model, most=MANY)
    assert found.verdict == "impossible"
    assert found.complete
    check(found)
    return found


def sets(text: str) -> set[frozenset[str]]:
    """`C1 C2|C3` with each C a lower side."""
    return {frozenset(f"{name} lower" for name in part.split()) for part in text.split("|")}


@pytest.mark.parametrize(
    ("name", "conflict_list", "cure_list"),
    [
        ("liffiton_sakallah6", "C1 C2|C1 C3 C4|C1 C5 C6", "C1|C2 C3 C5|C2 C3 C6|C2 C4 C5|C2 C4 C6"),
        ("pysat_at_most_one3", "C1 C2|C1 C3|C2 C3", "C1 C2|C1 C3|C2 C3"),
        ("pysat_xor4", "C1 C2 C3 C4", "C1|C2|C3|C4"),
        ("cpmpy_quickxplain_abcd", "C1 C2 C3|C2 C4", "C1 C4|C2|C3 C4"),
    ],
)
def test_yes_or_no_systems(name: str, conflict_list: str, cure_list: str) -> None:
    """Conflicts published for all four, cures for the first two; those of the others follow from them."""
    found = explain_model(load(name), most=MANY, never=hard)
    assert found.complete
    assert conflicts(found) == sets(conflict_list)
    assert cures(found) == sets(cure_list)
    for clash in found.clashes:
        assert clash.minimal


def test_parity_needs_whole_numbers() -> None:
    """The four parity rows hold together at one half each: whole numbers are the fifth member."""
    found = complete(load("pysat_xor4"))
    assert conflicts(found) == {frozenset({"C1 lower", "C2 lower", "C3 lower", "C4 lower", "whole"})}
    assert frozenset({"whole"}) in cures(found)
    assert len(found.clashes[0].proof.leaves) == 2


def test_the_window() -> None:
    """Published: con1 lower, con2 upper, con3 upper, x3 lower (the list from memory).

    By hand: con1 - con2 - con3 + 2 x3 reads 0 >= 10 - 4 - 5 + 0.
    """
    found = complete(load("sas_iis"))
    only = frozenset({"con1 lower", "con2 upper", "con3 upper", "limit of x3 lower"})
    assert conflicts(found) == {only}
    assert cures(found) == {frozenset({name}) for name in only}
    (proof,) = found.clashes[0].proof.leaves
    assert {term.name: term.multiplier for term in proof.terms} == {"con1": 1, "con2": 1, "con3": 1, "x3": 2}
    assert proof.gap == 1
    assert new_limits(found) == {
        "con1 lower": "9",
        "con2 upper": "5",
        "con3 upper": "6",
        "limit of x3 lower": "-1/2",
    }


def test_the_transport_plan() -> None:
    """Published: several conflicts, the smallest of 6. Each says that 100 units are missing."""
    found = complete(load("mosek_transport"))
    assert [len(clash.members) for clash in found.clashes] == [6, 7]
    assert names(found.clashes[0].members) == {
        "s0 upper",
        "s2 upper",
        "d0 lower",
        "d1 lower",
        "limit of x33 lower",
        "limit of x34 lower",
    }
    assert all(clash.proof.leaves[0].gap == 100 for clash in found.clashes)
    assert len(cures(found)) == 10
    assert new_limits(found) == {"s0 upper": "300", "s2 upper": "1100", "d0 lower": "1000", "d1 lower": "100"}


def test_the_limit_of_y() -> None:
    """Published: the lower limit of y is in the conflict. c1 is redundant and is not."""
    found = complete(load("pyomo_trivial"))
    assert conflicts(found) == {frozenset({"c2 upper", "c3 lower", "limit of y lower"})}


def test_the_least_sodium() -> None:
    """48186, exactly, against the 40000 of diet2.dat and the 50000 the book repairs it with."""
    model = load("ampl_diet2_infeasible")
    found = complete(model)
    assert new_limits(found)["NA upper"] == "48186"
    sodium = Member("row", "NA", "upper")
    assert is_impossible(moved(model, sodium, 48186 - Fraction(1, 10**9)))
    assert not is_impossible(moved(model, sodium, Fraction(48186)))
    assert all(any(m.name == "NA" for m in clash.members) for clash in found.clashes)


@pytest.mark.parametrize(
    ("name", "conflict_count", "cure_count", "smallest"),
    [("itest2", 6, 11, 3), ("galenet", 6, 19, 5), ("woodinfe", 2, 4, 2), ("bgprtr", 9, 154, 10)],
)
def test_netlib(name: str, conflict_count: int, cure_count: int, smallest: int) -> None:
    """The counts are those of a separate enumeration over every row side and limit (MARCO, exact sums)."""
    found = complete(load(name))
    assert (found.clash_count, found.cure_count) == (conflict_count, cure_count)
    assert len(found.clashes[0].members) == smallest


def test_the_published_conflict_of_galenet() -> None:
    """HiGHS tests: NODE5 and D8 lower with the upper limits of T25 and T35 (and T57 at nought)."""
    found = complete(load("galenet"))
    assert frozenset(
        {"NODE5 lower", "D8 lower", "limit of T25 upper", "limit of T35 upper", "limit of T57 lower"}
    ) in conflicts(found)


@pytest.mark.parametrize(("name", "size"), [("box1", 9), ("pang", 32)])
def test_larger_ones_stop_with_honest_first_lists(name: str, size: int) -> None:
    """9 and 32 are the smallest sets known (HiGHS, checked exactly): at least one as small is found."""
    found = explain_model(load(name), caps=Caps(found=6))
    assert found.verdict == "impossible"
    assert not found.complete
    assert len(found.clashes[0].members) <= size
    check(found)


@pytest.mark.parametrize(("name", "published"), [("galenet", 28), ("woodinfe", 15)])
def test_the_least_total_miss(name: str, published: int) -> None:
    """Published 28 and 15 (HiGHS feasibility relaxation, each unit of a miss counted as one)."""
    model = load(name)
    soft = members(model)
    plain = elastic(model, soft)
    found = least(plain.with_cost({name: Fraction(1) for name, _ in plain.cost}), Limits(), 1)
    assert isinstance(found, Least)
    assert found.objective == published


def test_every_cure_is_proved_minimal_by_the_conflicts_it_meets() -> None:
    """Put back any member of a cure of bgprtr and what is left is impossible again."""
    model = load("bgprtr")
    found = explain_model(model, most=MANY)
    judge = Judge(model, members(model), Caps())
    for cure in found.cures[:12]:
        for member in cure.members:
            rest = [other for other in cure.members if other != member]
            assert is_impossible(judge.part(judge.everything & ~judge.bits(rest)))
