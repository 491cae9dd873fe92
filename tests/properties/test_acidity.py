"""What holds for the pH of any mixture."""

from __future__ import annotations

import random
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.domain.ingredient import Part
from optimiser.loading.reference import load_substances
from optimiser.science.acidity import Mixture, mix, ph_range, root_at, solve_ph
from optimiser.science.acidity_rows import (
    charge_bounds_per_gram,
    charge_margin_per_gram,
    charge_per_gram,
    ion_strength_bounds_per_gram,
    ion_strength_per_gram,
)
from optimiser.science.activity import DAVIES
from optimiser.science.charge import Buffer, ChargeProfile, End
from optimiser.science.profiles import profile_of
from tests.solutions import figure, part

ACTIVE = (
    "Citric Acid", "Lactic Acid", "Phosphoric Acid", "Sodium Hydroxide", "Triethanolamine", "Arginine",
    "Sodium Benzoate", "Potassium Sorbate", "Sodium Citrate", "Sodium Chloride", "TEA-Salicylate",
    "Sodium Borate",
)  # fmt: skip


def line(slope: str, own_ph: str) -> Buffer:
    """A powder from "low middle high" of its slope and own pH."""
    a, b, c = (Fraction(value) for value in slope.split())
    x, y, z = (Fraction(value) for value in own_ph.split())
    return Buffer((a, b, c), (x, y, z))


CLAYS = {
    "kaolin": line("0.003 0.01 0.03", "4.5 5.8 7"),
    "bentonite": line("0.02 0.06 0.18", "9.5 10 10.5"),
}


def known() -> dict[str, ChargeProfile]:
    found = {"water": ChargeProfile(water=Fraction(1))}
    for name in ACTIVE:
        made = profile_of([part(name, 100)], load_substances(), {})
        assert isinstance(made, ChargeProfile)
        found[name] = made
    for name, clay in CLAYS.items():
        found[name] = ChargeProfile(buffers=(clay,))
    return found


PROFILES = known()
ENDS: tuple[End, End, End] = ("low", "middle", "high")
GRAMS = st.integers(1, 150).map(lambda n: Fraction(n, 100))
PH = st.integers(200, 1000).map(lambda n: Fraction(n, 100))
STRENGTH = st.integers(0, 500).map(lambda n: Fraction(n, 1000))


@st.composite
def mixtures(draw: st.DrawFn) -> dict[str, Fraction]:
    names = draw(st.lists(st.sampled_from([*ACTIVE, *CLAYS]), min_size=1, max_size=6, unique=True))
    return {"water": Fraction(100), **{name: draw(GRAMS) for name in names}}


def mixed(amounts: dict[str, Fraction]) -> Mixture:
    made = mix(amounts, PROFILES)
    assert isinstance(made, Mixture)
    return made


@given(mixtures(), GRAMS, STRENGTH)
def test_ph_falls_when_acid_is_added_at_a_fixed_ionic_strength(
    amounts: dict[str, Fraction], more: Fraction, strength: Fraction
) -> None:
    added = {**amounts, "Citric Acid": amounts.get("Citric Acid", Fraction(0)) + more}
    before = root_at(mixed(amounts), float(strength), "middle", DAVIES)
    assert root_at(mixed(added), float(strength), "middle", DAVIES) < before


@given(mixtures(), STRENGTH, PH, PH)
def test_charge_falls_as_ph_rises(
    amounts: dict[str, Fraction], strength: Fraction, one: Fraction, other: Fraction
) -> None:
    made, (low, high) = mixed(amounts), sorted((float(one), float(other)))
    first, capacity = made.balance(low, float(strength), DAVIES, "middle")
    second, _ = made.balance(high, float(strength), DAVIES, "middle")
    assert first > second or high - low < 1e-9
    assert capacity > 0


@settings(deadline=None, max_examples=20)
@given(mixtures())
def test_there_is_one_root_along_the_strength_the_ions_give_themselves(amounts: dict[str, Fraction]) -> None:
    """The balance at each pH, at the ionic strength that belongs to it, changes sign once."""
    made, signs = mixed(amounts), []
    for tenth in range(0, 140, 5):
        ph, strength = tenth / 10, 0.1
        for _ in range(40):
            strength = (strength + made.dissolved(ph, strength, DAVIES)[1] / 2) / 2
        signs.append(made.balance(ph, strength, DAVIES, "middle")[0] > 0)
    assert signs == sorted(signs, reverse=True)


@given(mixtures(), st.randoms(use_true_random=False), st.integers(1, 1000))
def test_neither_order_nor_scale_matters(
    amounts: dict[str, Fraction], dice: random.Random, times: int
) -> None:
    names = list(amounts)
    dice.shuffle(names)
    assert solve_ph({name: amounts[name] * times for name in names}, PROFILES) == solve_ph(amounts, PROFILES)


@given(mixtures())
def test_the_answer_balances(amounts: dict[str, Fraction]) -> None:
    found, made = solve_ph(amounts, PROFILES), mixed(amounts)
    assert found.ph is not None
    above = made.balance(found.ph + 1e-9, found.ionic_strength, DAVIES, "middle")[0]
    below = made.balance(found.ph - 1e-9, found.ionic_strength, DAVIES, "middle")[0]
    assert above < 1e-15
    assert below > -1e-15
    given_strength = made.dissolved(found.ph, found.ionic_strength, DAVIES)[1] / 2
    assert abs(given_strength - found.ionic_strength) < 1e-9 * max(1.0, given_strength)


@settings(max_examples=50, deadline=None)
@given(mixtures(), st.tuples(*[st.integers(0, 4)] * 4))
def test_no_value_in_the_powders_data_leaves_the_range(
    amounts: dict[str, Fraction], at: tuple[int, int, int, int]
) -> None:
    def between(
        ends: tuple[Fraction, Fraction, Fraction], quarter: int
    ) -> tuple[Fraction, Fraction, Fraction]:
        value = ends[0] + (ends[2] - ends[0]) * quarter / 4
        return value, value, value

    chosen = dict(PROFILES)
    for place, (name, clay) in enumerate(CLAYS.items()):
        inside = Buffer(between(clay.slope, at[2 * place]), between(clay.own_ph, at[2 * place + 1]))
        chosen[name] = ChargeProfile(buffers=(inside,))
    found, ends = solve_ph(amounts, chosen).ph, ph_range(amounts, PROFILES)
    assert found is not None
    assert ends is not None
    assert ends[0] - 1e-9 <= found <= ends[1] + 1e-9


SPREAD = {
    "blend": (
        ("Sodium Benzoate", "30 20 35"),
        ("Potassium Sorbate", "15 8 20"),
        ("Sodium Chloride", "5 4 6"),
    ),
    "syrup": (("Lactic Acid", "80 78 88"), ("Sodium Lactate", "10 2 12")),
    "lye": (("Sodium Hydroxide", "10 9.5 10.5"), ("Arginine", "20 10 30"), ("Carbomer", "5 4 6")),
}


def spread_at(part_of_range: dict[tuple[str, str], Fraction] | None = None) -> dict[str, ChargeProfile]:
    """The ingredients with their shares from-to, or each share at this part of its range."""
    found = {}
    for name, parts in SPREAD.items():
        made = []
        for substance, text in parts:
            middle, low, high = (Fraction(word) for word in text.split())
            if part_of_range is not None:
                middle = low = high = low + (high - low) * part_of_range[name, substance]
            made.append(Part(substance, middle, low, high))
        profile = profile_of(made, load_substances(), {"water_content": figure(20, 20, 20)})
        assert isinstance(profile, ChargeProfile)
        found[name] = profile
    return found


@settings(max_examples=60, deadline=None)
@given(mixtures(), st.tuples(GRAMS, GRAMS, GRAMS), st.tuples(*[st.integers(0, 2)] * 8))
def test_no_share_in_the_data_leaves_the_range(
    amounts: dict[str, Fraction], more: tuple[Fraction, ...], at: tuple[int, ...]
) -> None:
    """But for what the shares do to the ionic strength, which is left to the model's error."""
    keys = [(name, substance) for name, parts in SPREAD.items() for substance, _ in parts]
    chosen = {key: Fraction(half, 2) for key, half in zip(keys, at, strict=True)}
    pot = {**amounts, **dict(zip(SPREAD, more, strict=True))}
    middles = {
        **PROFILES,
        **{n: ChargeProfile(buffers=(b.buffers[0],)) for n, b in PROFILES.items() if b.buffers},
    }
    ends = ph_range(pot, {**middles, **spread_at()})
    found = solve_ph(pot, {**middles, **spread_at(chosen)}).ph
    assert ends is not None
    assert found is not None
    assert ends[0] - 0.02 <= found <= ends[1] + 0.02


@settings(deadline=None)
@given(st.sampled_from(sorted(SPREAD)), PH, STRENGTH, st.sampled_from(["low", "middle", "high"]))
def test_outer_charge_bounds_every_strength_and_end_of_the_shares(
    name: str, ph: Fraction, strength: Fraction, end: End
) -> None:
    profile = spread_at()[name]
    least, most = charge_bounds_per_gram(profile, ph, low_end=end, high_end=end)
    assert least <= charge_per_gram(profile, ph, strength, end=end) <= most
    low, middle, high = (charge_per_gram(profile, ph, strength, end=one) for one in ENDS)
    assert low <= middle <= high
    margin = charge_margin_per_gram(profile, ph, strength)
    tiny = Fraction(1, 10**9)
    assert max(high - middle, middle - low) <= margin + tiny
    assert margin <= high - low + tiny


@settings(max_examples=60, deadline=None)
@given(mixtures(), st.tuples(GRAMS, GRAMS, GRAMS), PH, PH, st.sampled_from(["low", "high"]))
def test_two_rows_at_an_end_of_the_shares_are_the_window_at_that_end(
    amounts: dict[str, Fraction], more: tuple[Fraction, ...], one: Fraction, other: Fraction, end: End
) -> None:
    low, high = sorted((one, other))
    pot, profiles = {**amounts, **dict(zip(SPREAD, more, strict=True))}, {**PROFILES, **spread_at()}
    found = solve_ph(pot, profiles, end=end)
    assert found.ph is not None
    strength = Fraction(found.ionic_strength)
    foot, top = (
        sum(grams * charge_per_gram(profiles[name], ph, strength, end=end) for name, grams in pot.items())
        for ph in (low, high)
    )
    if min(abs(float(low) - found.ph), abs(float(high) - found.ph)) > 1e-6:
        assert (foot >= 0 >= top) == (low <= found.ph <= high)


@given(mixtures(), PH, PH)
def test_two_rows_at_the_mixture_s_own_strength_are_the_window(
    amounts: dict[str, Fraction], one: Fraction, other: Fraction
) -> None:
    """Both ways: the rows hold exactly when the solved pH lies inside."""
    (low, high), found = sorted((one, other)), solve_ph(amounts, PROFILES)
    assert found.ph is not None
    strength = Fraction(found.ionic_strength)
    foot, top = (
        sum(grams * charge_per_gram(PROFILES[name], ph, strength) for name, grams in amounts.items())
        for ph in (low, high)
    )
    if min(abs(float(low) - found.ph), abs(float(high) - found.ph)) > 1e-6:
        assert (foot >= 0 >= top) == (low <= found.ph <= high)


@given(st.sampled_from(sorted(PROFILES)), PH, STRENGTH)
def test_outer_charge_bounds_every_ionic_strength(name: str, ph: Fraction, strength: Fraction) -> None:
    least, most = charge_bounds_per_gram(PROFILES[name], ph)
    assert least <= charge_per_gram(PROFILES[name], ph, strength) <= most


@given(st.sampled_from(sorted(PROFILES)), PH, PH, st.integers(0, 10), STRENGTH)
def test_outer_strength_bounds_the_window(
    name: str, one: Fraction, other: Fraction, tenth: int, strength: Fraction
) -> None:
    low, high = sorted((one, other))
    least, most = ion_strength_bounds_per_gram(PROFILES[name], low, high)
    inside = low + (high - low) * tenth / 10
    assert least <= ion_strength_per_gram(PROFILES[name], inside, strength) <= most
