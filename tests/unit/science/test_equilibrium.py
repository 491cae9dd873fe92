"""How the forms of an acid share out, against its constants, by hand and by small steps."""

from __future__ import annotations

from math import log

import pytest

from optimiser.science.equilibrium import Form, forms, holding, moments, weights

PKA = (3.13, 4.76, 6.4)
CITRIC = forms(PKA, 0)
GLYCINE = forms((2.35, 9.78), 1)
STEP = 1e-6


def test_forms_lose_one_proton_after_another() -> None:
    assert CITRIC[0] == Form(0, 0.0, 0, 0, 0)
    assert [form.lost for form in CITRIC] == [0, 1, 2, 3]
    assert [form.constant for form in CITRIC] == pytest.approx([0, -3.13, -7.89, -14.29])
    assert [form.charge for form in CITRIC] == [form.net for form in CITRIC] == [0, -1, -2, -3]
    assert [form.shift for form in CITRIC] == [0, 1, 4, 9]
    assert [(form.charge, form.shift) for form in GLYCINE] == [(1, 0), (0, -1), (-1, 0)]


def test_at_a_constant_two_forms_are_alike_and_a_drop_moves_them_by_their_squares() -> None:
    for lost, constant in enumerate(PKA):
        shares = weights(CITRIC, constant, 0.0)
        assert shares[lost] == pytest.approx(shares[lost + 1])
        assert sum(shares) == pytest.approx(1)
        squares = (lost + 1) ** 2 - lost**2
        moved = weights(CITRIC, constant - 0.1 * squares, 0.1)
        assert moved[lost] == pytest.approx(moved[lost + 1])


def test_a_form_that_holds_an_ion_has_one_charge_more_and_counts_by_the_free_ion() -> None:
    bare = CITRIC[3]
    held = holding(bare, 0.8, -1.0)
    assert (held.lost, held.charge, held.net) == (3, -3, -2)
    assert held.constant == pytest.approx(bare.constant - 0.2)
    assert held.shift == bare.shift + 4 - 9 - 1


@pytest.mark.parametrize("acid", [CITRIC, GLYCINE, (*CITRIC, holding(CITRIC[3], 0.8, -1.0))])
@pytest.mark.parametrize("ph", [2.0, 4.1, 6.4, 9.0])
def test_moments_are_those_of_the_shares_and_their_slopes(acid: tuple[Form, ...], ph: float) -> None:
    found, shares = moments(acid, ph, 0.1), weights(acid, ph, 0.1)
    mean = sum(share * form.charge for share, form in zip(shares, acid, strict=True))
    assert found.mean == pytest.approx(mean)
    assert found.square == pytest.approx(sum(s * form.net**2 for s, form in zip(shares, acid, strict=True)))
    ends = [moments(acid, ph + by, 0.1).mean for by in (-STEP, STEP)]
    assert (ends[1] - ends[0]) / (2 * STEP) == pytest.approx(-log(10) * found.variance, abs=1e-6)
