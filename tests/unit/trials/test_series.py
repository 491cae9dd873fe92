"""What a series of emulsifier blends teaches of the HLB that an oil asks for, and what it does not."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.ingredient import Figure
from optimiser.domain.learned import Learned, source_of
from optimiser.domain.trials import Trial
from optimiser.statistics.least import Foot
from optimiser.trials.learning import Lesson, Number, learn
from tests.creams import STEPS, apart, cream, series
from tests.effort import THOROUGH
from tests.workflows.desk import demo

F = Fraction
OIL = "sunflower-oil"
RUNS = 200 if THOROUGH else 40


def taught(trials: Sequence[Trial], *, check: bool = False) -> Lesson:
    return learn(trials, demo().worktable, demo().constants, check=check)


def asked_for(lesson: Lesson, oil: str = OIL) -> Number:
    return next(one for one in lesson.numbers if one.cause.ingredient == oil)


@pytest.mark.parametrize(("best", "off"), [(8.3, 1.0), (7.4, 0.6)])
def test_the_true_hlb_lies_in_its_interval_in_nine_of_ten_runs(best: float, off: float) -> None:
    """The table expects 7 (5 to 9); jars scatter by so many per cent of their height."""
    dice, inside, told = random.Random(f"{best}"), 0, 0
    for _ in range(RUNS):
        lesson = taught(series([value + dice.gauss(0, off) for value in apart(best)]))
        if lesson.learned:
            (one,) = lesson.numbers
            told += 1
            inside += one.after[1] <= F(best) <= one.after[2]
    assert told >= 0.9 * RUNS, "such a series tells it"
    assert 0.9 * told <= inside


def test_the_row_names_every_trial_of_the_series() -> None:
    lesson = taught(series(apart(8.3)), check=True)
    (one,) = lesson.learned
    assert one.trials == tuple(f"cream-{n}" for n in range(1, 8))
    assert float(one.after[0]) == pytest.approx(8.3, abs=0.1)
    assert one.told == "HLB that Sunflower oil, high oleic asks for"
    assert "separation after 7 days at 40 °C: best at HLB 8.3" in lesson.told[0]
    (check,) = lesson.foretold
    assert check.measure == "HLB of least separation, cream-1 … cream-7"
    assert check.table == pytest.approx((7, 5, 9), abs=0.05)


def test_a_score_of_how_well_it_holds_has_its_best_at_the_top() -> None:
    scores = [9 - 0.3 * (float(hlb) - 8.3) ** 2 for hlb in STEPS]
    lesson = taught(series(scores, measure="stability"))
    assert float(lesson.learned[0].after[0]) == pytest.approx(8.3, abs=0.1)


@pytest.mark.parametrize(
    ("values", "why", "settled"),
    [
        (
            apart(14, 0.6),
            "still gets better at the highest HLB",
            "a jar at HLB 13.0 (81 % of",
        ),
        (apart(4, 0.6), "still gets better at the lowest HLB", "a jar at HLB 5.0 (7 % of the emulsifiers"),
        ([5, 6, 5, 5.5, 6, 5, 5.6], "do not differ by more than they scatter", "a later look at all of them"),
        (
            [*apart(9)[:3], 0, 0, 0, 0],
            "do not differ",
            "look at cream-4, cream-5, cream-6, cream-7 again",
        ),
        ([9, 12, 15, 16, 15, 12, 9], "the middle of the series holds worst", "the same jars once more"),
    ],
)
def test_a_series_that_does_not_tell_is_refused_with_the_trial_that_would(
    values: list[float], why: str, settled: str
) -> None:
    lesson = taught(series(values))
    assert not lesson.learned
    (told,) = lesson.told
    assert why in told
    assert settled in told


def test_what_is_named_settles_it() -> None:
    short = series(apart(12.3))
    assert not taught(short).learned
    assert "a jar at HLB 13.0" in taught(short).told[0]
    further = [cream(f"cream-{n}", F(hlb), 4 + 1.5 * (hlb - 12.3) ** 2) for n, hlb in ((8, 13), (9, 14))]
    assert taught([*short, *further]).learned


def test_jars_that_are_made_otherwise_are_left_out_by_name() -> None:
    good = series(apart(8.3))
    heavy = cream("cream-8", F(8), 1.0, grams=6)
    later = cream("cream-9", F(9), 30.0, days=60)
    lesson = taught([*good, heavy, later])
    assert lesson.learned[0].trials == tuple(f"cream-{n}" for n in range(1, 8))
    assert lesson.out == (
        "cream-8: its emulsifiers are 0.3 of the oils, 0.2 in the others of the series",
        "cream-9: no separation after 7 days at 40 °C",
    )


def test_few_jars_say_so_and_creams_of_one_blend_say_nothing() -> None:
    few = taught(series(apart(8.3))[1:4])
    assert "it takes 4 jars at three blends or more" in few.told[0]
    same = [cream(f"cream-{n}", F(8), 3.0 + n) for n in range(5)]
    assert taught(same) == Lesson((), ())


def test_two_oils_are_not_told_from_each_other() -> None:
    both = series(apart(9.2), oils={OIL: F(10), "almond-oil": F(10)})
    lesson = taught(both)
    assert isinstance(lesson.series[0].foot, Foot)
    assert "best at HLB 9.2" in lesson.told[0]
    assert not lesson.learned
    assert asked_for(lesson).settled_by == (
        "a series of emulsifier blends with Sunflower oil, high oleic alone as the oil"
    )


def test_an_oil_without_a_number_gets_one_and_no_reading_counts_twice() -> None:
    table = demo().worktable
    one = table.ingredients[OIL]
    figures = {name: figure for name, figure in one.figures.items() if name != "hlb_needed"}
    bare = replace(table, ingredients={**table.ingredients, OIL: replace(one, figures=figures)})
    trials = series(apart(8.3))
    first = learn(trials, bare, demo().constants, check=False)
    (number,) = first.learned
    assert not number.known
    value, low, high = number.after
    row = Figure(value, low, high, "-", source_of(number.trials, ""), "measured")
    known = replace(one, figures={**figures, "hlb_needed": row})
    learned = Learned(trials[0].opened, OIL, "", "hlb_needed", row, counts=True)
    after = replace(bare, ingredients={**table.ingredients, OIL: known}, learned=(learned,))
    again = learn(trials, after, demo().constants, check=False)
    assert again.learned[0].after == number.after
