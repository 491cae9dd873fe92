from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from optimiser.domain.ingredient import Figure
from optimiser.domain.learned import Learned, source_of, trials_in
from optimiser.domain.readings import READABLE
from optimiser.domain.trials import Entry, Planned, Trial
from optimiser.export.lesson_words import untold
from optimiser.science.acidity import solve_ph
from optimiser.science.formula import profiles_for
from optimiser.trials.causes import Cause, prior_of
from optimiser.trials.jars import MEASURES, UNITS, jars_of
from optimiser.trials.learning import Lesson, Number, learn
from optimiser.trials.pots import pot_of
from tests.unit.trials.bench import DAY, GELS, SLURRIES, jar
from tests.workflows.desk import demo

F = Fraction
RUNS = 200


def taught(*trials: Trial) -> Lesson:
    return learn(trials, demo().worktable, demo().constants)


def number(lesson: Lesson, ingredient: str, what: str) -> Number:
    return next(n for n in lesson.numbers if (n.cause.ingredient, n.cause.property) == (ingredient, what))


def studied(
    pots: Sequence[Mapping[str, str]], measure: str, truth: Mapping[tuple[str, str], float], seed: int
) -> dict[tuple[str, str], float]:
    """How often the 95 % interval holds the truth, over 200 runs of jars that err as much as is said."""
    table, constants, dice = demo().worktable, demo().constants, random.Random(seed)
    values = {Cause(name, "", what): value for (name, what), value in truth.items()}
    known = []
    for count, lines in enumerate(pots):
        trial = jar(f"t-{count}", lines, **{measure: "5"})
        (one,), out = jars_of(trial, pot_of(trial, table, {}), constants)
        assert not out
        known.append((trial, one, one.scaled(one.foretell(values))))
    inside = dict.fromkeys(truth, 0)
    for _ in range(RUNS):
        trials = []
        for trial, one, true in known:
            read = one.back(true + dice.gauss(0, one.error))
            own, *weighed = trial.entries
            trials.append(replace(trial, entries=(replace(own, value=F(f"{read:.6f}")), *weighed)))
        lesson = learn(trials, table, constants, check=False)
        for key in truth:
            low, high = number(lesson, *key).after[1:]
            inside[key] += low <= F(truth[key]) <= high
    return {key: count / RUNS for key, count in inside.items()}


def test_the_true_buffering_of_a_clay_lies_in_its_interval_in_nine_of_ten_runs() -> None:
    truth = {("kaolin", "buffer_slope"): 0.016, ("kaolin", "powder_ph"): 5.2}
    found = studied(SLURRIES[::2], "ph", truth, seed=11)
    assert all(0.90 <= share <= 1.0 for share in found.values()), found


def test_the_true_strength_of_a_gum_lies_in_its_interval_in_nine_of_ten_runs() -> None:
    found = studied(GELS, "thickness", {("xanthan", "viscosity_1pct"): 14.0}, seed=12)
    assert all(0.90 <= share <= 1.0 for share in found.values()), found


def test_the_readings_outweigh_a_prior_that_is_off() -> None:
    """What the table expects is far from what the jars say: the numbers go to the jars."""
    table, constants = demo().worktable, demo().constants
    true = {Cause("kaolin", "", "buffer_slope"): 0.02, Cause("kaolin", "", "powder_ph"): 4.8}
    trials = []
    for count, lines in enumerate(SLURRIES):
        blank = jar(f"t-{count}", lines, ph="5")
        (one,), _ = jars_of(blank, pot_of(blank, table, {}), constants)
        trials.append(jar(f"t-{count}", lines, ph=f"{one.foretell(true):.4f}"))
    lesson = taught(*trials)
    slope = number(lesson, "kaolin", "buffer_slope")
    assert slope.state == "learned"
    assert abs(float(slope.after[0]) / 0.02 - 1) < 0.2
    assert slope.after[2] - slope.after[1] < slope.before[2] - slope.before[1]


def test_a_jar_is_foretold_by_the_same_balance_as_the_judges() -> None:
    trial = jar("one", SLURRIES[1], ph="3.4")
    pot = pot_of(trial, demo().worktable, {})
    (one,), _ = jars_of(trial, pot, demo().constants)
    profiles = profiles_for(pot.ingredients.values(), demo().constants)
    assert one.foretell({}) == pytest.approx(solve_ph(pot.grams, profiles).ph, abs=1e-9)


def test_two_clays_in_one_jar_cannot_be_told_apart_and_the_way_out_is_named() -> None:
    lines = {"water": "69", "kaolin": "20", "rose-clay": "10", "citric-acid-20": "1"}
    lesson = taught(jar("both", lines, ph="3.8"))
    assert not lesson.learned
    kaolin = number(lesson, "kaolin", "buffer_slope")
    assert kaolin.state == "mixed up"
    assert "buffering of Rose clay" in kaolin.partners
    assert kaolin.settled_by == "the pH of Kaolin, white alone in water, at two doses of acid"


def test_what_is_named_settles_it() -> None:
    lines = {"water": "69", "kaolin": "20", "rose-clay": "10", "citric-acid-20": "1"}
    alone = [jar(f"k-{n}", SLURRIES[n], ph=ph) for n, ph in ((1, "3.4"), (2, "3.1"))]
    lesson = taught(jar("both", lines, ph="3.8"), *alone)
    assert number(lesson, "kaolin", "buffer_slope").state == "learned"


def test_a_trial_left_out_is_foretold_by_the_others_alone() -> None:
    trials = [jar(f"s-{n}", SLURRIES[n], ph=ph) for n, ph in enumerate(("5.5", "3.4", "3.1"))]
    lesson = taught(*trials)
    wild = taught(trials[0], trials[1], jar("s-2", SLURRIES[2], ph="4.6"))
    before, after = (next(f for f in one.foretold if f.trial == "s-2") for one in (lesson, wild))
    assert before.others == after.others
    assert before.inside
    assert not after.inside
    assert before.others[2] - before.others[1] < before.table[2] - before.table[1]
    assert before.by == ("s-0", "s-1")


def test_lots_are_learned_apart() -> None:
    trials = [
        jar(f"{lot}-{n}", SLURRIES[n], lot, ph=ph)
        for lot, phs in (("K1", ("5.5", "3.1", "2.95")), ("K2", ("6.4", "3.9", "3.5")))
        for n, ph in enumerate(phs)
    ]
    lesson = taught(*trials)
    own = {n.cause.lot: n.after[0] for n in lesson.learned if n.cause.property == "powder_ph"}
    assert set(own) == {"K1", "K2"}
    assert own["K2"] - own["K1"] > F("0.5")


def test_an_acid_that_nobody_weighed_tells_nothing() -> None:
    lines = (
        Planned("A", "water", F(79)),
        Planned("A", "kaolin", F(20)),
        Planned("A", "citric-acid-20", F(1), True),
    )
    read = Entry(1, DAY, "read", measure="ph", value=F("3.1"))
    clay = Entry(3, DAY, "weighed", ingredient="kaolin", grams=F(20))
    trial = Trial("dosed", "slurry", DAY, F(100), lines, entries=(read, clay))
    lesson = taught(trial)
    assert not lesson.numbers
    assert lesson.out == ("ph of dosed: how much citric-acid-20 went in was not written down",)
    weighed = Entry(2, DAY, "weighed", ingredient="citric-acid-20", grams=F("0.9"))
    assert taught(replace(trial, entries=(read, weighed))).numbers
    before = replace(trial, entries=(replace(read, measure="ph-before", value=F("5.5")), clay))
    assert taught(before).numbers


def test_what_is_too_little_to_tell_names_the_reading_and_trials_of_other_things_are_no_check() -> None:
    gel, slurry = jar("gel", GELS[0], thickness="2"), jar("slurry", SLURRIES[0], ph="5.5")
    lesson = taught(gel, slurry)
    said = untold(lesson)
    assert "Strength of Xanthan gum: it takes the thickness of it alone in water, with its shear." in said
    assert [one.by for one in lesson.foretold] == [(), ()]


def test_a_jar_of_which_nothing_was_weighed_tells_nothing() -> None:
    made = jar("made", SLURRIES[2], ph="3.1")
    opened = replace(made, id="opened", entries=made.entries[:1])
    lesson = taught(made, opened)
    assert lesson.out == ("opened: nothing of it was weighed",)
    assert lesson.numbers == taught(made).numbers


def test_every_reading_that_teaches_can_be_written_down_in_its_unit() -> None:
    assert set(MEASURES) <= set(READABLE)
    assert all(UNITS[kind] == (READABLE[name].unit or "pH") for name, kind in MEASURES.items())


def test_a_thickness_without_its_shear_or_with_swelling_clay_tells_nothing() -> None:
    gel = jar("gel", GELS[2], thickness="14")
    bare = replace(gel, entries=(replace(gel.entries[0], rate=None), *gel.entries[1:]))
    assert "no shear" in taught(bare).out[0]
    clay = jar("clay", {"water": "94", "bentonite": "5", "xanthan": "1"}, thickness="14")
    assert "swelling clay" in taught(clay).out[0]


def test_a_density_of_the_jar_does_not_pass_air_off_as_an_oil() -> None:
    mixed = taught(jar("mix", {"water": "60", "glycerin": "40"}, density="1.05"))
    assert not mixed.learned
    alone = taught(jar("bottle", {"oat-flour": "100"}, density="1.43"))
    (density,) = alone.learned
    assert density.cause.property == "density"
    assert abs(density.after[0] - F("1.43")) < F("0.01")


def test_the_solids_of_a_powder_are_learned_from_its_loss_on_drying() -> None:
    lesson = taught(jar("dry", {"bentonite": "100"}, loss_on_drying="7.6"))
    solids = number(lesson, "bentonite", "solids")
    assert solids.state == "learned"
    assert abs(solids.after[0] - F("92.4")) < F("0.3")


def test_a_reading_that_fits_nothing_is_named() -> None:
    lesson = taught(jar("odd", SLURRIES[2], ph="9.5"))
    assert lesson.unfit
    assert "read again" in lesson.unfit[0]


def test_readings_used_before_do_not_count_twice() -> None:
    trials = [jar(f"s-{n}", SLURRIES[n], ph=ph) for n, ph in enumerate(("5.5", "3.4", "3.1"))]
    table = demo().worktable
    first = taught(*trials)
    figure = table.ingredients["kaolin"].figures["buffer_slope"]
    value, low, high = number(first, "kaolin", "buffer_slope").after
    row = Learned(
        date(2026, 11, 4),
        "kaolin",
        "",
        "buffer_slope",
        Figure(value, low, high, "meq/g", source_of(("s-0", "s-1", "s-2"), ""), "measured"),
        counts=True,
        was=figure,
    )
    kaolin = table.ingredients["kaolin"]
    figures = {**kaolin.figures, "buffer_slope": row.figure}
    there = replace(
        table,
        learned=(row,),
        ingredients={
            **table.ingredients,
            "kaolin": replace(kaolin, figures=figures),
        },
    )
    again = learn(trials, there, demo().constants)
    assert number(again, "kaolin", "buffer_slope").after == (value, low, high)
    more = learn([jar("s-9", SLURRIES[2], ph="3.1")], there, demo().constants)
    assert number(more, "kaolin", "buffer_slope").before == (value, low, high)


def test_trials_of_a_source_are_read_back() -> None:
    assert source_of(("mask-1", "mask-2"), "K-12") == "trial mask-1 + mask-2, lot K-12"
    assert trials_in("trial mask-1 + mask-2, lot K-12") == {"mask-1", "mask-2"}
    assert trials_in("measured: sheet of 2026-11") == frozenset()


def test_a_range_is_taken_as_a_95_percent_interval() -> None:
    figure = Figure(F(10), F(5), F(20), "Pa.s", "invented", "invented")
    prior = prior_of("viscosity_1pct", figure)
    assert prior is not None
    assert prior.ends(0, 1) == (F(10), F(5), F(20))
    assert prior_of("viscosity_1pct", replace(figure, status="by nature")) is None
