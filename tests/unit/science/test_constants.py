"""The demo worktable has what the models need, and says what is assumed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from optimiser.domain.ingredient import Ingredient
from optimiser.loading.worktable import load_worktable
from optimiser.science.constants import (
    OILS,
    claim,
    gum,
    powder,
    preservative,
    sensitivity,
    solute,
    volumes,
    water_phase,
)
from optimiser.science.preservation import Claim
from optimiser.science.thickness import equivalent, viscosity

DEMO = Path(__file__).parents[3] / "ingredient_data_demo"
GUMS = {"gum", "carbomer", "cellulose-ether"}
POWDERS = {"clay", "charcoal", "starch", "flour", "mineral-powder"}


@cache
def _demo() -> Mapping[str, Ingredient]:
    worktable, problems = load_worktable(DEMO)
    assert worktable is not None, problems
    return worktable.ingredients


def _bare(name: str, *left_out: str) -> Ingredient:
    one = _demo()[name]
    return replace(one, figures={n: f for n, f in one.figures.items() if n not in left_out})


def test_every_gum_has_a_law() -> None:
    missing = [i.id for i in _demo().values() if i.group in GUMS and gum(i) is None]
    assert missing == []


def test_every_powder_packs() -> None:
    missing = [
        i.id for i in _demo().values() if i.group in POWDERS and (powder(i) is None or volumes(i) is None)
    ]
    assert missing == []


def test_every_ingredient_of_every_formula_says_what_it_binds() -> None:
    worktable, _ = load_worktable(DEMO)
    assert worktable is not None
    used = {
        line.ingredient
        for formula in worktable.formulas.values()
        for phase in formula.phases
        for line in phase.lines
    }
    assert [name for name in sorted(used) if claim(_demo()[name]) is None] == []


def test_binding_and_packing_are_said_to_be_assumed() -> None:
    said = {
        figure.status
        for one in _demo().values()
        if (figure := one.figure("preservative_binding")) is not None and figure.high
    }
    assert said <= {"assumed", "borrowed"}


def test_konjac_for_the_xanthan_of_a_mask() -> None:
    """At rest it takes as much konjac as xanthan, when stirred a good half of it."""
    xanthan, konjac = gum(_demo()["xanthan"]), gum(_demo()["konjac"])
    assert xanthan is not None
    assert konjac is not None
    still, stirred = (equivalent(Fraction("0.4"), xanthan, konjac, Fraction(shear)) for shear in (1, 50))
    assert Fraction("0.35") < still < Fraction("0.45")
    assert Fraction("0.2") < stirred < Fraction("0.35")


def test_the_ends_of_a_gum_enclose_its_middle() -> None:
    ends = [gum(_demo()["xanthan"], end) for end in ("low", "value", "high")]
    found = [viscosity(one, Fraction("0.4")) for one in ends if one is not None]
    assert found == sorted(found)
    assert len(set(found)) == 3


def test_carbomer_is_touchy_and_xanthan_is_not() -> None:
    assert sensitivity(_demo()["carbomer"]).salt_half == Fraction("0.1")
    assert sensitivity(_demo()["xanthan"]).salt_half is None


@pytest.mark.parametrize(("name", "share"), [("water", "1"), ("glycerin", "1"), ("citric-acid-20", None)])
def test_water_phase(name: str, share: str | None) -> None:
    found = water_phase(_demo()[name])
    assert found is not None
    assert found == Fraction(share) if share else Fraction("0.7") < found < Fraction("0.9")


def test_claims() -> None:
    water, oil, clay = (claim(_demo()[name]) for name in ("water", "sunflower-oil", "kaolin"))
    assert water is not None
    assert oil is not None
    assert clay is not None
    assert water == Claim(Fraction(1), Fraction(0), Fraction(0))
    assert oil.oil > 1 > oil.water == 0
    assert clay.bound == 1
    assert _demo()["sunflower-oil"].group in OILS


def test_worst_end_asks_for_most() -> None:
    acid = Fraction("4.204")
    middle = preservative(_demo()["sodium-benzoate"], "bacteria", acid)
    worst = preservative(_demo()["sodium-benzoate"], "bacteria", acid, "high")
    best = preservative(_demo()["sodium-benzoate"], "bacteria", acid, "low")
    assert middle is not None
    assert worst is not None
    assert best is not None
    assert best.least < middle.least < worst.least
    assert best.k_oil < middle.k_oil < worst.k_oil
    assert worst.solubility == Fraction("0.0024")
    assert best.solubility == Fraction("0.0038")
    assert preservative(_demo()["sodium-benzoate"], "mould", acid) is None


def test_absent_is_not_zero() -> None:
    assert gum(_bare("xanthan", "viscosity_power")) is None
    assert powder(_bare("kaolin", "packing_max")) is None
    assert volumes(_bare("kaolin", "water_held")) is None
    assert volumes(_bare("kaolin", "density")) is None
    assert claim(_bare("kaolin", "preservative_binding")) is None
    assert claim(_bare("sunflower-oil", "density")) is None
    assert water_phase(_bare("xanthan", "water_content")) is None
    bare = gum(_bare("xanthan", "flow_index"))
    assert bare is not None
    assert bare.flow == 1


def test_liquids_take_room_and_hold_no_grains() -> None:
    found = volumes(_demo()["glycerin"])
    assert found is not None
    assert found == (Fraction(0), 1 / Fraction("1.258"))


def test_solutes() -> None:
    assert solute(_demo()["glycerin"], Fraction(92)).norrish == Fraction("1.16")
    assert solute(_demo()["sodium-lactate"], Fraction(112), Fraction(2)).norrish is None
