"""Weights add up to the batch, in steps the balances read."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.domain.worktable import Balance
from optimiser.errors import OptimiserError
from optimiser.search.weighing import Weighing, weigh

F = Fraction

FINE = Balance(F(1, 100), F(200))
COARSE = Balance(F(1), F(5000))
BOTH = (FINE, COARSE)


@st.composite
def shares(draw: st.DrawFn) -> list[F]:
    """Two to twenty shares on the grid of 0.001 % that sum to 100 %."""
    count = draw(st.integers(2, 20))
    cuts = sorted(draw(st.sets(st.integers(1, 99_999), min_size=count - 1, max_size=count - 1)))
    return [F(b - a, 1000) for a, b in zip([0, *cuts], [*cuts, 100_000], strict=True)]


balances = st.sampled_from(
    [
        (FINE,),
        (COARSE,),
        BOTH,
        (Balance(F(1, 10), F(500)), COARSE),
        (FINE, Balance(F(1, 10), F(1000)), COARSE),
        (Balance(F(1, 50), F(100)), Balance(F(1, 20), F(400)), Balance(F(5), F(20_000))),
    ]
)
batches = st.integers(1, 900_000).map(lambda n: F(n, 100))


@given(shares(), batches, balances, st.data())
def test_the_weights_add_up_to_the_batch_and_are_whole_steps(
    parts: list[F], batch: F, scales: tuple[Balance, ...], data: st.DataObject
) -> None:
    filler = data.draw(st.integers(0, len(parts) - 1))
    done = weigh(parts, batch, scales, filler)
    assert sum(w.grams for w in done.weights) == done.batch_g
    finest = min(w.reads_g for w in done.weights)
    assert abs(done.batch_g - batch) <= max(finest / 2, finest - batch)
    for weight in done.weights:
        assert weight.grams >= 0
        assert ((weight.grams - weight.top_up_g) / weight.reads_g).denominator == 1
        assert (weight.top_up_g / finest).denominator == 1


@given(shares(), batches, st.sampled_from([(FINE,), (COARSE,)]))
def test_on_one_balance_no_line_is_a_whole_step_off(
    parts: list[F], batch: F, scales: tuple[Balance, ...]
) -> None:
    done = weigh(parts, batch, scales, 0)
    for part, weight in zip(parts, done.weights, strict=True):
        assert abs(weight.grams - part * done.batch_g / 100) < weight.reads_g


@given(shares(), batches, balances)
def test_a_line_is_flagged_just_when_it_is_under_ten_steps_and_the_batch_named_cures_it(
    parts: list[F], batch: F, scales: tuple[Balance, ...]
) -> None:
    done = weigh(parts, batch, scales, 0)
    for index, weight in enumerate(done.weights):
        assert (weight.smallest_batch_g is not None) == (weight.grams < 10 * weight.reads_g)
        if weight.smallest_batch_g is not None:
            bigger = weigh(parts, weight.smallest_batch_g, (Balance(weight.reads_g, F(10**9)),), index)
            assert bigger.weights[index].grams >= 10 * weight.reads_g
            less = weight.smallest_batch_g - 1
            assert parts[index] * less / 100 < 10 * weight.reads_g


@given(shares(), batches, balances)
def test_the_band_is_two_steps_or_one_per_cent_and_one_step_where_the_line_has_few(
    parts: list[F], batch: F, scales: tuple[Balance, ...]
) -> None:
    for weight in weigh(parts, batch, scales, 0).weights:
        band, step = weight.high - weight.grams, weight.reads_g
        assert band == (
            step if weight.grams < 20 * step else max(2 * step, weight.grams / 100 // step * step)
        )
        assert weight.low == max(weight.grams - band, 0)


def _grams(done: Weighing) -> list[str]:
    return [f"{float(weight.grams):.2f}" for weight in done.weights]


def test_steps_left_over_go_by_largest_remainder() -> None:
    thirds = [F("33.334"), F("33.333"), F("33.333")]
    assert _grams(weigh(thirds, F(100), (FINE,), 0)) == ["33.34", "33.33", "33.33"]
    assert _grams(weigh([F("12.5")] * 8, F("0.1"), (FINE,), 0)) == ["0.02"] * 2 + ["0.01"] * 6


def test_large_lines_go_to_the_coarse_balance_and_the_filler_takes_what_it_cannot_show() -> None:
    done = weigh([F("60.3"), F("39.4"), F("0.3")], F(1000), BOTH, 0)
    assert _grams(done) == ["603.00", "394.00", "3.00"]
    assert [weight.places for weight in done.weights] == [0, 0, 2]
    odd = weigh([F("60.35"), F("39.35"), F("0.3")], F(1000), BOTH, 0)
    assert sum(weight.grams for weight in odd.weights) == 1000
    topped = weigh([F("60.304"), F("39.4"), F("0.296")], F(1000), BOTH, 0).weights[0]
    assert (topped.grams, topped.top_up_g, topped.top_up_places) == (F("603.04"), F("0.04"), 2)


def test_a_batch_between_steps_is_rounded_and_a_heavy_line_is_weighed_in_portions() -> None:
    eight_ounces = F("226.796185")
    assert weigh([F(50), F(50)], eight_ounces, (FINE,), 0).batch_g == F("226.80")
    assert [w.portions for w in weigh([F(90), F(10)], F(1000), (FINE,), 0).weights] == [5, 1]


@pytest.mark.parametrize(
    ("parts", "batch", "scales"),
    [([F(50), F(49)], F(100), BOTH), ([F(100)], F(0), BOTH), ([F(100)], F(100), ()), ([], F(100), BOTH)],
)
def test_what_cannot_be_weighed_is_said(parts: list[F], batch: F, scales: tuple[Balance, ...]) -> None:
    with pytest.raises(OptimiserError) as caught:
        weigh(parts, batch, scales, 0)
    assert caught.value.fix
