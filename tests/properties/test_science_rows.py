"""Rows and full forms say the same of random pots; more of the cause gives more of the effect."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import assume, given
from hypothesis import strategies as st

from optimiser.science.emulsion import emulsifier_term, mismatch, oil_terms
from optimiser.science.preservation import (
    Claim,
    Preservative,
    claimed,
    free,
    index,
    index_term,
    pot,
    row_term,
    undissociated,
)
from optimiser.science.suspension import Powder, fraction_for
from optimiser.science.suspension import mixture_viscosity as grains
from optimiser.science.suspension import row_term as grain_term
from optimiser.science.thickness import Gum, mixture_viscosity, viscosity
from optimiser.science.thickness import row_term as gum_term
from optimiser.science.water_activity import Solute, water_activity
from optimiser.science.water_activity import row_term as water_term
from tests.effort import tries

NOISE = Fraction(1, 10**9)


def _between(low: str, high: str) -> st.SearchStrategy[Fraction]:
    return st.fractions(Fraction(low), Fraction(high), max_denominator=1000)


AMOUNTS = _between("0.1", "30")
CLAIMS = st.builds(Claim, _between("0", "1"), _between("0", "1"), _between("0", "3"))
ACIDS = st.builds(
    Preservative, _between("0.001", "0.01"), st.one_of(st.none(), _between("3", "6")), _between("0", "100")
)
GUMS = st.builds(Gum, _between("0.1", "200"), _between("1", "4"), _between("0.1", "1"))
POWDERS = st.builds(Powder, _between("0.3", "0.7"), _between("2.5", "8"))
SOLUTES = st.builds(Solute, _between("18", "400"), st.one_of(st.none(), _between("0.5", "7")))
POTS = st.lists(st.tuples(AMOUNTS, CLAIMS), min_size=1, max_size=5)


@given(POTS, ACIDS, _between("3", "7"), _between("0", "3"))
def test_preservative_row_is_the_free_concentration(
    lines: list[tuple[Fraction, Claim]], acid: Preservative, ph: Fraction, dose: Fraction
) -> None:
    alpha, whole = undissociated(ph, acid.pka), pot(lines)
    assume(claimed(whole, acid, alpha) > 0)
    row = dose + sum(grams * row_term(Fraction(0), claim, acid, alpha) for grams, claim in lines)
    assert (row >= 0) is (free(dose, whole, acid, alpha) >= acid.least)


@given(POTS, st.lists(st.tuples(ACIDS, _between("0", "3")), min_size=1, max_size=3), _between("3", "7"))
def test_mixture_rows_enclose_the_index(
    lines: list[tuple[Fraction, Claim]], acids: list[tuple[Preservative, Fraction]], ph: Fraction
) -> None:
    whole = pot(lines)
    actives = [(acid, dose, undissociated(ph, acid.pka)) for acid, dose in acids]
    assume(all(claimed(whole, acid, alpha) > 0 for acid, _, alpha in actives))
    inner = outer = Fraction(0)
    nothing = [(acid, alpha, Fraction(0)) for acid, _, alpha in actives]
    for grams, claim in lines:
        inner += grams * index_term(nothing, claim, "inner")
        outer += grams * index_term(nothing, claim, "outer")
    for acid, dose, alpha in actives:
        gain = dose * index_term([(acid, alpha, Fraction(1))], Claim(), "inner")
        inner, outer = inner + gain, outer + gain
    covers = index(actives, whole) >= 1
    assert covers or inner < 0
    assert outer >= 0 or not covers


@given(ACIDS, _between("3", "7"), _between("0", "2"))
def test_acid_preservatives_fade_with_ph(acid: Preservative, ph: Fraction, more: Fraction) -> None:
    assert undissociated(ph + more, acid.pka) <= undissociated(ph, acid.pka) <= 1


@given(POTS, ACIDS, _between("3", "7"), _between("0.1", "3"), _between("0.5", "7"))
def test_twice_the_pot_is_the_same_jar(
    lines: list[tuple[Fraction, Claim]], acid: Preservative, ph: Fraction, dose: Fraction, times: Fraction
) -> None:
    alpha = undissociated(ph, acid.pka)
    scaled = pot([(grams * times, claim) for grams, claim in lines])
    assert free(dose * times, scaled, acid, alpha) == free(dose, pot(lines), acid, alpha)


@tries(120)
@given(st.lists(st.tuples(GUMS, _between("0.05", "2")), min_size=1, max_size=3), _between("40", "90"))
def test_gum_row_is_the_thickness(parts: list[tuple[Gum, Fraction]], water: Fraction) -> None:
    eta = mixture_viscosity(parts)
    for target, held in ((eta * (1 - NOISE), True), (eta * (1 + NOISE), False)):
        row = sum(percent * water / 100 * gum_term(gum, Fraction(0), target) for gum, percent in parts)
        assert (row + water * gum_term(None, Fraction(1), target) >= 0) is held


@tries(120)
@given(st.lists(st.tuples(GUMS, _between("0.05", "2")), min_size=1, max_size=3), GUMS, _between("0.05", "1"))
def test_more_gum_is_thicker(parts: list[tuple[Gum, Fraction]], gum: Gum, more: Fraction) -> None:
    assert mixture_viscosity([*parts, (gum, more)]) > mixture_viscosity(parts)


@tries(120)
@given(st.lists(st.tuples(GUMS, _between("0.05", "2")), min_size=1, max_size=3))
def test_a_mixture_is_at_least_as_thick_as_each_gum(parts: list[tuple[Gum, Fraction]]) -> None:
    together = mixture_viscosity(parts)
    assert all(viscosity(gum, percent) <= together * (1 + NOISE) for gum, percent in parts)


@tries(120)
@given(st.lists(st.tuples(POWDERS, _between("0.01", "0.2")), min_size=1, max_size=3))
def test_powder_row_is_the_thickness(parts: list[tuple[Powder, Fraction]]) -> None:
    times = grains(parts)
    assume(times is not None and times < 10**6)
    assert times is not None
    for target, held in ((times * (1 - NOISE), True), (times * (1 + NOISE), False)):
        assume(target > 1)
        row = sum(grain_term(powder, phi, phi, target) for powder, phi in parts)
        rest = 1 - sum(phi for _, phi in parts)
        assert (row + rest * grain_term(None, Fraction(0), Fraction(1), target) >= 0) is held


@given(POWDERS, _between("1", "1000"), _between("0.001", "10"))
def test_thicker_paste_needs_more_powder(powder: Powder, times: Fraction, more: Fraction) -> None:
    assert 0 <= fraction_for(times, powder) < fraction_for(times + more, powder) < powder.packing


@tries(80)
@given(st.lists(st.tuples(SOLUTES, _between("0.5", "15")), min_size=1, max_size=3), _between("50", "90"))
def test_water_activity_row_is_the_water_activity(
    parts: list[tuple[Solute, Fraction]], water: Fraction
) -> None:
    activity = water_activity(parts, water)
    assert activity is not None
    assume(activity < 1 - 2 * NOISE)
    for ceiling, held in ((activity + NOISE, True), (activity - NOISE, False)):
        row = sum(grams * water_term([(one, Fraction(1))], Fraction(0), ceiling) for one, grams in parts)
        assert (row + water * water_term([], Fraction(1), ceiling) >= 0) is held


@tries(80)
@given(
    st.lists(st.tuples(SOLUTES, _between("0.5", "15")), min_size=1, max_size=2),
    SOLUTES,
    _between("50", "90"),
    _between("1", "3"),
)
def test_more_humectant_less_active_water_whatever_the_batch(
    parts: list[tuple[Solute, Fraction]], more: Solute, water: Fraction, times: Fraction
) -> None:
    before, after = water_activity(parts, water), water_activity([*parts, (more, Fraction(1))], water)
    scaled = water_activity([(one, grams * times) for one, grams in parts], water * times)
    assert before is not None
    assert after is not None
    assert scaled is not None
    assert after < before
    assert abs(scaled - before) < NOISE


HLB = st.lists(st.tuples(AMOUNTS, _between("1", "20")), min_size=1, max_size=4)


@given(HLB, HLB, _between("0.1", "3"))
def test_hlb_row_is_the_mismatch(
    blend: list[tuple[Fraction, Fraction]], oils: list[tuple[Fraction, Fraction]], tolerance: Fraction
) -> None:
    ratio = sum((g for g, _ in blend), Fraction(0)) / sum((g for g, _ in oils), Fraction(0))
    left = sum(grams * emulsifier_term(own) for grams, own in blend)
    low = left + sum(grams * oil_terms(own, ratio, tolerance)[0] for grams, own in oils)
    high = left + sum(grams * oil_terms(own, ratio, tolerance)[1] for grams, own in oils)
    off = mismatch(blend, oils)
    assert off is not None
    assert (low >= 0 >= high) is (abs(off) <= tolerance)
