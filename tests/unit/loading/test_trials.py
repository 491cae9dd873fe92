"""Trials written and read back: the same; and faults of their files with their line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.domain.ingredient import Place
from optimiser.domain.trials import WHATS, Entry, Expected, Planned, Trial
from optimiser.export.plain import clean
from optimiser.export.trial_yaml import entries_text, trial_text
from optimiser.loading.trials import parse_trial, read_trial, read_trials

F = Fraction
DAY = date(2026, 11, 20)
PLAIN = Trial(
    "serum-1",
    "serum",
    DAY,
    F(250),
    (Planned("A", "water", F("180.25")), Planned("B", "citric-acid-20", F("1.2"), True, "K-12")),
    (
        Expected("ph", F("4.8"), F("4.5"), F(5), "", F("0.2")),
        Expected("thickness", F(38), F(30), F(45), "Pa.s"),
    ),
    proposal="serum-abc123.yaml",
    entries=(
        Entry(1, DAY, "weighed", ingredient="water", grams=F("180.3"), lot="0012"),
        Entry(2, DAY, "read", measure="ph", value=F("52"), at_c=F(22)),
        Entry(3, DAY, "read", measure="ph", value=F("5.2"), at_c=F(22), corrects=2),
        Entry(4, DAY, "visit", measure="ph", value=F("5.1"), stored_c=F(-5), cycles=3, light="dark"),
    ),
)
NUMBERS = st.decimals(-(10**6), 10**6, places=6, allow_nan=False, allow_infinity=False).map(F)
TEXTS = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        ["yes", "012", "1.000", "~", "- {n: 9}", "x: y", "#", "'", "=cmd()", "2026-11-20", "!!int 3"]
    ),
).map(clean)
NEEDED = TEXTS.filter(bool)
ENTRIES = st.builds(
    Entry,
    number=st.just(1),
    day=st.dates(),
    what=st.sampled_from([one for one in WHATS if one != "corrected"]),
    ingredient=NEEDED,
    lot=TEXTS,
    grams=NUMBERS.map(abs),
    measure=NEEDED,
    value=NUMBERS,
    unit=TEXTS,
    spread=st.none() | NUMBERS,
    rate=st.none() | NUMBERS,
    cycles=st.none() | st.integers(0, 99),
    outcome=NEEDED,
    path=NEEDED,
    text=NEEDED,
    who=TEXTS,
)


def bare(trial: Trial | None) -> Trial:
    """Without the places of its file."""
    assert trial is not None
    entries = tuple(replace(one, place=Place()) for one in trial.entries)
    return replace(trial, place=Place(), entries=entries)


def back(text: str) -> Trial:
    trial, problems = parse_trial(text, "trials/x.yaml")
    assert not problems, [one.sentence() for one in problems]
    return bare(trial)


def said(text: str) -> str:
    trial, problems = parse_trial(text, "trials/x.yaml")
    assert trial is None
    return "\n".join(one.sentence() for one in problems)


def test_what_is_written_is_read_back_and_the_last_word_on_a_reading_counts() -> None:
    trial = back(trial_text(PLAIN))
    assert trial == PLAIN
    assert trial_text(trial) == trial_text(PLAIN)
    assert [one.value for one in trial.readings("ph")] == [F("5.2")]
    assert trial.grams == {"water": F("180.3"), "citric-acid-20": F("1.2")}


@settings(max_examples=60, deadline=None)
@given(st.lists(ENTRIES, max_size=4), TEXTS)
def test_any_entry_comes_back_as_it_was_written(entries: list[Entry], lot: str) -> None:
    numbered = tuple(replace(one, number=at) for at, one in enumerate(entries, 1))
    trial = replace(PLAIN, lines=(Planned("A", "water", F(1), lot=lot),), entries=numbered)
    assert back(trial_text(trial)) == trial


def test_hostile_words_stay_one_entry() -> None:
    nasty = "x'}\n- {n: 9, day: 2026-11-20, what: dropped}\n#\u202e: |\x00"
    text = trial_text(replace(PLAIN, entries=())) + entries_text(
        [Entry(1, DAY, "looked", text=nasty, who="=cmd()")]
    )
    trial = back(text)
    assert len(trial.entries) == 1
    assert trial.state == "open"
    assert trial.entries[0].text == clean(nasty)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("n: 2,", "n: 1,", "n: 2, the next number"),
        ("corrects: 2", "corrects: 4", "corrects: an earlier entry"),
        ("corrects: 2", "corrects: 3", "corrects: an earlier entry"),
        ("value: 52,", "value: '5,2',", "decimal point"),
        ("value: 52,", "value: 52 mV,", "a number"),
        ("grams: 180.3 g", "grams: 180.3", "an amount with its unit"),
        ("grams: 180.3 g", "grams: 180.3 ell", "a unit of weight or volume"),
        ("grams: 180.3 g", "grams: -1 g", "zero or more"),
        ("what: visit", "what: vist", 'did you mean "visit"?'),
        ("ingredient: water, grams: 180.3 g,", "grams: 180.3 g,", "ingredient: with a value"),
        ("day: 2026-11-20, what: visit", "day: 2026-02-30, what: visit", "a date such as"),
        ("cycles: 3", "cycles: 2.5", "a whole number"),
        ("format: 1", "format: 2", "newer version"),
        ("low: 30,", "low: 40,", "in this order"),
        ("opened: 2026-11-20\n", "", "opened: with a value"),
    ],
)
def test_a_fault_is_told_with_its_line(old: str, new: str, told: str) -> None:
    text = trial_text(PLAIN)
    assert text.count(old) >= 1
    assert told in said(text.replace(old, new, 1))
    assert "trials/x.yaml:" in said(text.replace(old, new, 1))


def test_an_entry_is_corrected_once() -> None:
    twice = trial_text(PLAIN) + entries_text([Entry(5, DAY, "corrected", corrects=2, text="again")])
    assert "an entry that counts" in said(twice)


def test_a_folder_is_read_whole_with_every_fault(tmp_path: Path) -> None:
    assert read_trials(tmp_path) == ((), ())
    (tmp_path / "trials").mkdir()
    for number in (10, 2):
        trial = replace(PLAIN, id=f"serum-{number}")
        (tmp_path / "trials" / f"serum-{number}.yaml").write_text(trial_text(trial), encoding="utf-8")
    assert [one.id for one in read_trials(tmp_path)[0]] == ["serum-2", "serum-10"]
    wrong = tmp_path / "trials" / "serum-3.yaml"
    wrong.write_text(trial_text(PLAIN), encoding="utf-8")
    assert read_trial(wrong)[0] is None
    trials, problems = read_trials(tmp_path)
    assert len(trials) == 2
    assert ["the id serum-3" in one.expected for one in problems] == [True]
