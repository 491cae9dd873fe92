"""substances.csv: constants and charges below nought, within bounds."""

from __future__ import annotations

from pathlib import Path

from optimiser.domain.substance import Substance
from optimiser.loading.findings import Findings
from optimiser.loading.substances import COLUMNS, read_substances
from optimiser.loading.tables import read_csv
from optimiser.problems import Problem

HEAD = "substance,molar_mass,pKa1,charge,counter_ion,source\n"


def own(folder: Path, row: str) -> tuple[dict[str, Substance], list[Problem]]:
    path = folder / "substances.csv"
    path.write_text(HEAD + row, encoding="utf-8")
    problems: list[Problem] = []
    findings = Findings("substances.csv", problems)
    return dict(read_substances(read_csv(path, COLUMNS, findings), "point", findings)), problems


def test_a_strong_acid_may_have_a_constant_below_nought(tmp_path: Path) -> None:
    found, problems = own(tmp_path, "Fern Acid,125.15,-0.3,-1,,memory\n")
    assert problems == []
    assert found["fern acid"].pka[0] < 0
    assert found["fern acid"].charge == -1


def test_a_charge_out_of_all_bounds_is_told(tmp_path: Path) -> None:
    _, problems = own(tmp_path, "Fern Acid,152.15,3.41,-11,,memory\n")
    assert [(p.line, p.expected) for p in problems] == [(2, "a number from -10 to 10")]
