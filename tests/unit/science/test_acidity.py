from __future__ import annotations

import itertools
from fractions import Fraction

import pytest

from optimiser.domain.ingredient import Figure, Part
from optimiser.loading.reference import load_substances
from optimiser.science.acidity import (
    CLOSED,
    NO_WATER,
    Mixture,
    adjuster_curve,
    kept_off,
    mix,
    ph_range,
    solve_ph,
)
from optimiser.science.activity import DAVIES
from optimiser.science.charge import Buffer, ChargeProfile, End, Unknown
from optimiser.science.profiles import profile_of
from tests.solutions import ph_of, solution, solved

WATER = ChargeProfile(water=Fraction(1))
KAOLIN = ChargeProfile(
    buffers=(
        Buffer(
            (Fraction("0.003"), Fraction("0.01"), Fraction("0.03")),
            (Fraction("4.5"), Fraction("5.8"), Fraction(7)),
        ),
    )
)
BENTONITE = ChargeProfile(
    buffers=(
        Buffer(
            (Fraction("0.02"), Fraction("0.06"), Fraction("0.18")),
            (Fraction("9.5"), Fraction(10), Fraction("10.5")),
        ),
    )
)
ACID = solution({"citric acid": 1})
ZERO = Figure(Fraction(0), Fraction(0), Fraction(0), "%", "invented")
BLENDED = {"water": Fraction(97), "blend": Fraction(3), "acid": Fraction(3)}
MASK = {"water": Fraction(70), "kaolin": Fraction(20), "bentonite": Fraction(5)}
KNOWN: dict[str, ChargeProfile | Unknown] = {
    "water": WATER,
    "kaolin": KAOLIN,
    "bentonite": BENTONITE,
    "acid": ACID,
}


def test_pure_water_is_half_its_constant() -> None:
    assert ph_of(WATER) == pytest.approx(13.995 / 2, abs=1e-6)


def test_strong_acid_is_its_amount_by_hand() -> None:
    """0.001 mol/kg: log10 of it, less the Davies drop of 0.5092 (0.03065 - 0.0003)."""
    assert ph_of(solution({}, "-0.001")) == pytest.approx(3 + 0.01546, abs=1e-4)


def test_half_neutralised_acid_has_its_mixed_constant() -> None:
    """pK' = 4.756 - drop(0.05), drop = 0.5092 (0.18274 - 0.015)."""
    found = ph_of(solution({"acetic acid": "0.1"}, "0.05"))
    assert found == pytest.approx(4.756 - 0.5092 * (0.182744 - 0.015), abs=1e-3)


def test_buffer_capacity_by_hand() -> None:
    """ln10 n/4 at the half-way point."""
    found = solved(solution({"acetic acid": "0.1"}, "0.05"))
    assert found.buffer_capacity == pytest.approx(2.302585 * 0.025, rel=2e-3)


def test_powder_alone_in_water_shows_its_own_ph() -> None:
    found = solve_ph({"water": Fraction(90), "bentonite": Fraction(10)}, KNOWN)
    assert found.ph == pytest.approx(10, abs=0.03)


def test_without_water_there_is_no_ph() -> None:
    found = solve_ph({"kaolin": Fraction(5)}, KNOWN)
    assert (found.ph, found.valid, found.why) == (None, False, (NO_WATER,))


def test_every_unknown_is_named() -> None:
    known: dict[str, ChargeProfile | Unknown] = {**KNOWN, "oil": Unknown("what it is made of is not known")}
    found = solve_ph({"water": Fraction(9), "oil": Fraction(1), "stray": Fraction(1)}, known)
    assert found.ph is None
    assert found.why == ("oil: what it is made of is not known", "stray: no data on its charge")
    assert ph_range({"stray": Fraction(1)}, known) is None


def test_what_is_not_there_does_not_matter() -> None:
    known: dict[str, ChargeProfile | Unknown] = {**KNOWN, "oil": Unknown("whatever")}
    assert solve_ph({"water": Fraction(9), "oil": Fraction(0)}, known).valid


@pytest.mark.parametrize(
    ("salt", "valid", "told", "error"),
    [
        ("0.02", True, False, 0.03),
        ("0.2", True, False, 0.1),
        ("0.4", True, True, 0.15),
        ("0.6", False, True, 0.15),
    ],
)
def test_salt_widens_the_error_and_then_ends_it(salt: str, valid: bool, told: bool, error: float) -> None:
    found = solved(solution({"acetic acid": "0.1"}, "0.05", salt))
    assert (found.valid, bool(found.why)) == (valid, told)
    assert found.model_error == pytest.approx(error + 0.0001 / found.buffer_capacity)


def test_what_is_hardly_buffered_says_so() -> None:
    """0.1 mmol/kg of stray alkali in pure water moves it by two pH and more."""
    found = solved(WATER)
    assert "hardly any buffer" in found.why[0]
    assert found.model_error == 2


def test_traces_of_water_are_no_water_phase() -> None:
    known = {"oil": ChargeProfile(water=Fraction(1, 100)), "water": WATER}
    assert solve_ph({"oil": Fraction(97), "water": Fraction(3)}, known).why == (NO_WATER,)
    assert solve_ph({"oil": Fraction(90), "water": Fraction(10)}, known).ph is not None


def test_glycols_beyond_fifteen_per_cent_are_told() -> None:
    glycol = ChargeProfile(glycol=Fraction(1))
    found = solve_ph({"water": Fraction(80), "glycol": Fraction(20)}, {"water": WATER, "glycol": glycol})
    assert not found.valid
    assert "20 %" in found.why[0]


def test_carbonate_tells_that_the_jar_counts_as_closed() -> None:
    soda = ChargeProfile(water=Fraction(1), carbonate=True)
    assert CLOSED in solved(soda).why


def test_no_fixed_dose_surely_reaches_the_window() -> None:
    """20 % kaolin and 5 % bentonite: the dose for pH 5 in the middle leaves a wide range."""
    doses = adjuster_curve(MASK, KNOWN, "acid", Fraction(3), 60)
    middle = min(doses, key=lambda row: abs(row[2] - 5))
    assert abs(middle[2] - 5) < 0.15
    assert middle[1] < 4
    assert middle[3] > 6.5


def test_the_curve_falls_with_every_drop_and_keeps_its_order() -> None:
    curve = adjuster_curve(MASK, KNOWN, "acid", Fraction(3), 10)
    assert [row[0] for row in curve] == [Fraction(3 * step, 10) for step in range(11)]
    for before, after in itertools.pairwise(curve):
        assert all(after[place] < before[place] for place in (1, 2, 3))
    assert all(low < middle < high for _, low, middle, high in curve)


def test_the_curve_starts_from_the_pot_without_its_adjuster() -> None:
    with_acid = {**MASK, "acid": Fraction(2)}
    assert adjuster_curve(with_acid, KNOWN, "acid", Fraction(1), 1) == adjuster_curve(
        MASK, KNOWN, "acid", Fraction(1), 1
    )


def test_the_range_takes_the_shares_of_the_ingredients_in() -> None:
    """A blend of 20 to 35 % benzoate in the acid of the pot: more salt lifts the pH, less lowers it."""

    def known(low: int, middle: int, high: int) -> dict[str, ChargeProfile | Unknown]:
        shares = Part("Sodium Benzoate", Fraction(middle), Fraction(low), Fraction(high))
        return {**KNOWN, "blend": profile_of([shares], load_substances(), {"water_content": ZERO})}

    least, middle, most = (solve_ph(BLENDED, known(one, one, one)).ph for one in (20, 30, 35))
    ends = ph_range(BLENDED, known(20, 30, 35))
    assert ends is not None
    assert ends[0] == pytest.approx(least, abs=0.02)
    assert ends[1] == pytest.approx(most, abs=0.02)
    assert ends[1] - ends[0] > 0.1
    assert solve_ph(BLENDED, known(20, 30, 35)).ph == pytest.approx(middle)


@pytest.mark.parametrize("end", ["low", "middle", "high"])
@pytest.mark.parametrize("ph", [3.0, 4.2, 6.0])
def test_the_buffer_is_the_slope_of_the_charge_whatever_is_not_sure(end: End, ph: float) -> None:
    """Shares known from-to, a chain with a constant known to 1 pH, and a powder."""
    shares = Part("Sodium Benzoate", Fraction(30), Fraction(20), Fraction(35))
    chain = Part("Carbomer", Fraction(100), Fraction(100), Fraction(100))
    profiles: dict[str, ChargeProfile | Unknown] = {
        **KNOWN,
        **{
            name: profile_of([part], load_substances(), {"water_content": ZERO})
            for name, part in (("blend", shares), ("chain", chain))
        },
    }
    mixture = mix({**BLENDED, "chain": Fraction(1), "kaolin": Fraction(9)}, profiles)
    assert isinstance(mixture, Mixture)
    assert mixture.opens
    assert mixture.loose
    before, here, after = (mixture.balance(ph + by, 0.1, DAVIES, end) for by in (-1e-5, 0.0, 1e-5))
    assert here[1] == pytest.approx((before[0] - after[0]) / 2e-5, rel=1e-6)


@pytest.mark.parametrize(
    ("low", "high", "dosed", "off"),
    [
        ("4.5", "5", True, "0.1"),
        ("4.5", "4.5", True, "0.1"),
        ("4.5", "5", False, "0.1"),
        ("4.5", "4.72", False, "0.1"),
        ("4.5", "4.6", False, "0.04"),
        ("4.5", "4.51", False, "0"),
    ],
)
def test_how_far_a_prediction_stays_off_the_ends(low: str, high: str, dosed: bool, off: str) -> None:
    assert kept_off(Fraction(low), Fraction(high), dosed=dosed) == Fraction(off)


def test_without_powders_the_range_is_a_point() -> None:
    ends = ph_range({"acid": Fraction(1)}, KNOWN)
    assert ends is not None
    assert ends[0] == ends[1]
