"""The pack of a formula or a worktable: known by name, or one's own with what it takes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from optimiser.export.formula_yaml import formula_text
from optimiser.loading.reference import load_packs
from tests.unit.loading.folders import MASK, SOUND, loaded, only, problems_of

OWN = "pack: {name: our tube, takes: 3, low: 1, high: 6, source: 'measured: 2026-03-01'}\n"


def test_every_known_pack_stands_in_rising_order_with_its_source() -> None:
    for name, pack in load_packs().items():
        assert pack.name == name
        assert Fraction(0) <= pack.takes.low <= pack.takes.value <= pack.takes.high
        assert pack.takes.source.startswith(("by nature", "published: ", "assumed: "))


def test_a_formula_states_its_pack_and_a_worktable_the_usual_one(tmp_path: Path) -> None:
    settings = SOUND["worktable.yaml"] + "pack: glass\n"
    table = loaded(tmp_path, {"worktable.yaml": settings, "formulas/mask.yaml": MASK + OWN})
    assert table.settings.pack == load_packs()["glass"]
    pack = table.formulas["mask"].pack
    assert pack is not None
    assert pack.name == "our tube"
    assert [pack.takes.low, pack.takes.value, pack.takes.high] == [1, 3, 6]
    assert pack.takes.status == "measured"


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    base = loaded(tmp_path, {"formulas/mask.yaml": MASK + OWN}).formulas["mask"]
    for number, pack in enumerate((base.pack, load_packs()["polyethylene"], None)):
        text = formula_text(replace(base, pack=pack, targets=()), [], [])
        again = loaded(tmp_path / str(number), {"formulas/mask.yaml": text}).formulas["mask"]
        assert again.pack == pack


def test_a_pack_one_letter_off_is_asked_about(tmp_path: Path) -> None:
    problem = only(problems_of(tmp_path, {"formulas/mask.yaml": MASK + "pack: polypropilene\n"}))
    assert "polypropylene" in problem.fix


def test_a_pack_that_takes_less_than_nothing_or_out_of_order_is_refused(tmp_path: Path) -> None:
    for number, text in enumerate(("takes: -1", "takes: 3, low: 4", "takes: much", "name: bag")):
        told = problems_of(
            tmp_path / str(number), {"formulas/mask.yaml": MASK + f"pack: {{{text}, source: measured}}\n"}
        )
        assert [problem.entry.partition(",")[0] for problem in told] == ["pack"]
