"""Failures that are in print, found by the check of a formula for the reason that is in print.

Mould at pH 6 with sorbic acid: report of 2018 from a bench, and Steinberg 2005, J. Cosmet. Sci. 56(5):361
(5.5 % undissociated there, 37 % at pH 5). A formula that sums to 101 %: a hair wax in print. Phenoxyethanol
above 1 %: Regulation (EC) No 1223/2009, Annex V entry 29. Tubing that took up to 64 % of a preservative in
five days, silicone most: Bahal & Romansky 2002, Pharm. Dev. Technol. 7:49, abstract. Shares of the formulas
are made up.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.cli.main import cli
from optimiser.domain.outcome import Verdict
from optimiser.workflows.propose import check_formula
from tests.workflows.desk import copied, put, table_in

GEL = """name: Gel
product: {use: leave-on, area: face, age: adult, form: gel}
pack: PACK
phases:
  - phase: A
    lines:
      - {water: to 100 %}
      - {xanthan: 0.5 %}
      - {propanediol: 5 %}
      - {PRESERVATIVE}
      - {citric-acid-20: "to pH 5, at most 1 %"}
targets:
  - ph: {between: [LOW, TOP]}
  - reaches_water: [mould]
"""
SORBATE = "potassium-sorbate: 0.4 %"


def gel(folder: Path, low: str, top: str, preservative: str = SORBATE, pack: str = "glass") -> Path:
    text = GEL.replace("LOW", low).replace("TOP", top).replace("PRESERVATIVE", preservative)
    put(folder, "formulas/gel.yaml", text.replace("PACK", pack))
    return folder


def broken(folder: Path) -> dict[str, Verdict]:
    sources = table_in(folder)
    found = check_formula(sources, sources.worktable.formulas["gel"])
    return {verdict.rule.head.id: verdict for verdict in found if not verdict.met}


def ends_with(found: dict[str, Verdict], end: str) -> Verdict:
    (verdict,) = [verdict for name, verdict in found.items() if name.endswith(end)]
    return verdict


def test_mould_at_ph_six_with_sorbate(tmp_path: Path) -> None:
    """Twice its least dose, and still: above its working pH, and too little of it undissociated."""
    found = broken(gel(copied(tmp_path), "5.8", "6.2"))
    mould = ends_with(found, "covers-mould")
    assert mould.value == 0
    assert mould.note == "Potassium sorbate works up to pH 5.5 only"
    free = next(verdict for verdict in found.values() if "reaches the water" in verdict.rule.head.sentence)
    assert free.value is not None
    assert Fraction(3, 10) < free.value < Fraction(7, 10)


def test_the_same_dose_at_ph_five_counts(tmp_path: Path) -> None:
    found = broken(gel(copied(tmp_path), "4.7", "5.1"))
    assert not [name for name in found if name.endswith(("covers-mould", "covers-yeast", "-mould"))]


def test_a_wall_that_drinks_it_is_told_by_the_free_dose_alone(tmp_path: Path) -> None:
    """0.9 % of phenoxyethanol is enough in glass; a silicone wall worth 40 ml leaves less than enough."""
    for pack, enough in (("glass", True), ("polyester", True), ("silicone", False)):
        folder = gel(copied(tmp_path / pack), "4.7", "5.1", "phenoxyethanol: 0.9 %", pack)
        path = folder / "formulas" / "gel.yaml"
        put(folder, "formulas/gel.yaml", path.read_text("utf-8").replace("[mould]", "[bacteria]"))
        about = [name for name in broken(folder) if "bacteria" in name]
        assert bool(about) is not enough
        assert not [name for name in about if "covers" in name]


def test_more_phenoxyethanol_than_the_law_allows(tmp_path: Path) -> None:
    found = broken(gel(copied(tmp_path), "4.7", "5.1", "phenoxyethanol: 1.3 %"))
    (law,) = [verdict for name, verdict in found.items() if name.startswith("law#")]
    assert law.value == Fraction(13, 10)
    assert law.high == 1
    assert "Annex V entry 29" in law.rule.head.sentence
    assert law.rule.head.basis == "law"


def test_a_total_of_101_per_cent(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = gel(copied(tmp_path), "4.7", "5.1")
    path = folder / "formulas" / "gel.yaml"
    put(folder, "formulas/gel.yaml", path.read_text("utf-8").replace("to 100 %", "94.1 %"))
    with pytest.raises(SystemExit) as left:
        cli.main(["check", str(folder)])
    assert left.value.code != 0
    told = "".join(capsys.readouterr())
    assert "formulas/gel.yaml:4: formula: expected lines that sum to 100 %, found 101 %" in told


def test_the_command_says_why_and_never_that_it_keeps(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = gel(copied(tmp_path), "5.8", "6.2")
    with pytest.raises(SystemExit) as left:
        cli.main(["check", str(folder), "gel"])
    told = " ".join("".join(capsys.readouterr()).split())
    assert left.value.code != 0
    assert "Mould covered on paper at pH up to 6.2" in told
    assert "works up to pH 5.5 only" in told
    assert "preserved" not in told.casefold()
