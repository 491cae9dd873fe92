"""A worktable's own substances.csv: constants that add to the reference or take its place."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.loading.reference import load_substances
from optimiser.problems import Problem
from optimiser.requests.sources import Sources
from optimiser.science.acidity import solve_ph
from optimiser.science.charge import Unknown
from optimiser.science.formula import profile_for, profiles_for
from optimiser.workflows.worktable import open_worktable
from tests.unit.loading.folders import only, problems_of, row, write

HEAD = "substance,cas,molar_mass,pka1,pka2,pka3,charge,counter_ion,source\n"
MADE = "ingredient,substance,share [%],low,high,source\n"
OF_ACID = f"{MADE}citric-acid-20,Citric Acid,20,,,invented\ncitric-acid-20,Aqua,80,,,invented\n"
LILAC = row("ingredients.csv", "lilac,Lilac acid,,Lilac Acid,acid,,powder,,5,Invented,250 g,3.00,2,,")
OF_LILAC = {**LILAC, "composition.csv": f"{OF_ACID}lilac,Lilac Acid,100,,,invented\n"}


def sources(folder: Path, files: dict[str, str]) -> Sources:
    return open_worktable(write(folder, files))


def ph(table: Sources, name: str, share: int = 1) -> float:
    ingredients = table.worktable.ingredients
    profiles = profiles_for((ingredients["water"], ingredients[name]), table.constants)
    found = solve_ph({"water": Fraction(100 - share), name: Fraction(share)}, profiles).ph
    assert found is not None
    return found


def faults(folder: Path, rows: str) -> tuple[Problem, ...]:
    return problems_of(folder, {"substances.csv": HEAD + rows})


def test_without_the_file_the_reference_stands(tmp_path: Path) -> None:
    table = sources(tmp_path, {"composition.csv": OF_ACID})
    assert table.worktable.substances == {}
    assert table.constants == load_substances()


def test_own_constants_take_the_place_of_the_reference_and_move_the_ph(tmp_path: Path) -> None:
    weak = "Citric Acid,,192.12,5.13,6.76,8.4,-3,,invented\n"
    before = ph(sources(tmp_path / "one", {"composition.csv": OF_ACID}), "citric-acid-20")
    table = sources(tmp_path / "two", {"composition.csv": OF_ACID, "substances.csv": HEAD + weak})
    assert ph(table, "citric-acid-20") == pytest.approx(before + 1, abs=0.15)
    assert table.constants["citric acid"].pka == (Fraction("5.13"), Fraction("6.76"), Fraction("8.4"))
    assert table.constants["lactic acid"] == load_substances()["lactic acid"]


def test_a_weak_acid_of_their_own_reads_as_its_constant_says(tmp_path: Path) -> None:
    """0.1 mol/kg of pKa 5.00: pH 3.00 with complete neglect of activity, a little lower with it."""
    lilac = "Lilac Acid,,100,5,,,-1,,invented\n"
    table = sources(tmp_path, {**OF_LILAC, "substances.csv": HEAD + lilac})
    assert ph(table, "lilac") == pytest.approx(3.0, abs=0.02)


def test_a_listed_name_alone_is_no_constant(tmp_path: Path) -> None:
    table = sources(tmp_path, {**OF_LILAC, "substances.csv": f"{HEAD}Lilac Acid,,,,,,,,invented\n"})
    found = profile_for(table.worktable.ingredients["lilac"], table.constants)
    assert isinstance(found, Unknown)
    assert "not known" in found.reason


def test_a_neutral_substance_of_their_own_brings_nothing(tmp_path: Path) -> None:
    table = sources(tmp_path, {**OF_LILAC, "substances.csv": f"{HEAD}Lilac Acid,,100,,,,0,,invented\n"})
    assert ph(table, "lilac") == pytest.approx(7.0, abs=0.01)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Lilac Acid,,100,5,4,,-1,,invented", "strongest"),
        ("Lilac Acid,,100,,5,,-1,,invented", "strongest"),
        ("Lilac Acid,,0,5,,,-1,,invented", "molar mass above nought"),
        ("Lilac Acid,,-3,5,,,-1,,invented", "molar_mass"),
        ("Lilac Acid,,100,5,,,-0.5,,invented", "whole number of charges"),
        ("Lilac Acid,,heavy,5,,,-1,,invented", "heavy"),
        ("Lilac Acid,,100,5,,,-1,,", "source"),
    ],
)
def test_a_fault_is_told_with_file_and_line(tmp_path: Path, line: str, words: str) -> None:
    problem = only(faults(tmp_path, f"Fine Acid,,90,4,,,-1,,invented\n{line}\n"))
    sentence = problem.sentence()
    assert "substances.csv:3" in sentence
    assert words in sentence
    assert "Lilac Acid" in sentence


def test_the_same_substance_twice_is_a_fault(tmp_path: Path) -> None:
    again = "Lilac Acid,,100,5,,,-1,,invented\nLILAC ACID,,100,4,,,-1,,invented\n"
    problem = only(faults(tmp_path, again))
    assert "substances.csv:3" in problem.sentence()
    assert "again" in problem.sentence()


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    found = faults(tmp_path, "A Acid,,0,5,,,-1,,invented\nB Acid,,100,5,4,,-1,,invented\n")
    lines = [problem.sentence().split("substances.csv:")[1][0] for problem in found]
    assert lines == ["2", "3"]
