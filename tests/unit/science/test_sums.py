"""What adds up: density, HLB, uptake, solubility, charges, bands."""

from __future__ import annotations

from fractions import Fraction
from importlib import import_module

import pytest

from optimiser.science import compatibility, density, emulsion, powders, solubility
from optimiser.science.about import Band, Model, factor

NAMES = (
    "preservation", "thickness", "glycerol", "suspension", "water_activity", "density", "emulsion", "powders",
    "solubility", "compatibility",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_every_model_says_what_it_rests_on(name: str) -> None:
    model = import_module(f"optimiser.science.{name}").MODEL
    assert isinstance(model, Model)
    assert all((model.sources, model.holds, model.breaks, model.reading))
    low, high = model.band.around(Fraction(1))
    assert low < high


def test_bands() -> None:
    assert factor(Fraction(2)).around(Fraction(6)) == (Fraction(3), Fraction(12))
    assert Band(Fraction(1), Fraction(2), relative=False).around(Fraction(6)) == (Fraction(5), Fraction(8))


def test_density_row_and_air() -> None:
    lines = [(Fraction(60), Fraction(1)), (Fraction(40), Fraction("0.9"))]
    plain = density.density(lines)
    assert sum(grams * density.row_term(own, plain) for grams, own in lines) == 0
    assert density.density(lines, Fraction("0.05")) == plain * Fraction("0.95")
    assert density.air_from_cup(plain * 95, Fraction(100), plain) == Fraction("0.05")
    assert density.grams_for(density.volume(lines), plain) == 100


EMULSIFIERS = [(Fraction(2), Fraction(15)), (Fraction(3), Fraction("4.3"))]
OILS = [(Fraction(15), Fraction(7)), (Fraction(5), Fraction(12))]


@pytest.mark.parametrize(("tolerance", "held"), [("0.34", True), ("0.32", False)])
def test_hlb_row_says_what_the_blend_says(tolerance: str, held: bool) -> None:
    ratio = Fraction(5, 20)
    off = emulsion.mismatch(EMULSIFIERS, OILS)
    assert off == Fraction("8.58") - Fraction("8.25")
    blend = sum(grams * emulsion.emulsifier_term(own) for grams, own in EMULSIFIERS)
    low, high = (
        sum(grams * emulsion.oil_terms(own, ratio, Fraction(tolerance))[side] for grams, own in OILS)
        for side in (0, 1)
    )
    assert (blend + low >= 0 >= blend + high) is held is (abs(off) <= Fraction(tolerance))


def test_hlb_rows_about_a_fixed_value() -> None:
    low, high = (
        sum(
            grams * emulsion.at_hlb_terms(own, Fraction("8.5"), Fraction("0.1"))[side]
            for grams, own in EMULSIFIERS
        )
        for side in (0, 1)
    )
    assert low > 0 > high
    more, less = emulsion.ratio_terms(Fraction(1, 4))
    assert 5 * more + 20 * less == 0


def test_no_hlb_of_nothing() -> None:
    assert emulsion.mean([]) is None
    assert emulsion.mismatch([], OILS) is None


def test_uptake_row() -> None:
    lines = [
        (Fraction(60), Fraction(1), Fraction(0), False),
        (Fraction(30), Fraction("0.01"), Fraction("0.45"), True),
        (Fraction(10), Fraction(0), Fraction(0), False),
    ]
    pot = powders.gather(lines)
    free = powders.free_per_powder(pot)
    assert free == (Fraction("60.3") - Fraction("13.5")) / 30
    total = sum(
        grams * powders.row_term(share, uptake, powder, free) for grams, share, uptake, powder in lines
    )
    assert total == 0
    assert powders.uptake_from_reading(Fraction(9), Fraction(20)) == Fraction("0.45")


@pytest.mark.parametrize(
    ("free", "state"), [("-0.1", "dust"), ("0.5", "paste"), ("1.99", "paste"), ("2", "soup"), (None, "soup")]
)
def test_dust_paste_soup(free: str | None, state: str) -> None:
    value = None if free is None else Fraction(free)
    assert powders.state(value, Fraction("0.5"), Fraction(2)) == state


def test_no_powder_has_no_free_liquid_per_powder() -> None:
    assert powders.free_per_powder(powders.Pot(Fraction(50), Fraction(0), Fraction(0))) is None


def test_solubility_row_and_neutral_ones() -> None:
    limit = solubility.holds(Fraction("0.024"))
    assert limit == Fraction("0.024")
    assert (
        solubility.row_term(Fraction(1), Fraction(0), limit) * Fraction("1.2")
        + 50 * solubility.row_term(Fraction(0), Fraction(1), limit)
        == 0
    )
    assert solubility.undissolved(Fraction(2), Fraction(50), limit) == Fraction("0.8")
    assert solubility.undissolved(Fraction(1), Fraction(50), limit) == 0
    assert solubility.with_cosolvent(Fraction("0.01"), Fraction(2), Fraction("0.5")) == Fraction("0.1")


def test_charges() -> None:
    quat = compatibility.charge(Fraction("0.29"), Fraction(1), Fraction(320))
    clay = compatibility.exchange(Fraction(80))
    assert clay == Fraction("0.8")
    assert compatibility.bound_by_clay(quat, clay) == clay
    assert compatibility.left_by_clay_term(quat, Fraction(0)) == quat
    assert compatibility.row_term(Fraction("0.05"), Fraction(1)) == 0
    assert compatibility.excess(Fraction("0.08"), Fraction(1)) == Fraction("0.03")
    assert compatibility.chelator_term(Fraction(1), Fraction(2)) < 0
    assert round(compatibility.ZINC_OXIDE_BASE, 1) == Fraction("24.6")
    assert compatibility.zinc_oxide_dissolves(Fraction(5))
    assert not compatibility.zinc_oxide_dissolves(Fraction(7))
