"""Which rows apply: use, area, age, form, place and day; sums over families; the strictest of several."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from optimiser.errors import UsageError
from optimiser.law.limits import Limit, LimitRow, Picked
from optimiser.law.pick import pick
from optimiser.loading.reference import load_limits

DAY = date(2026, 11, 1)
ROW = LimitRow(
    limit="eu-x", family="X acid and its salt", substance="X Acid", aliases=(), counts_as="X acid",
    factor=Fraction(1), jurisdiction="EU", use="any", area=(), age="any", form=(), maximum=Fraction("0.5"),
    unit="%", starts=None, ends=None, basis="law", machine=True, condition="",
    source="A rule, entry 1; read in a book", status="seen",
)  # fmt: skip


def picked(
    *rows: LimitRow, place: str = "EU", on: date = DAY, use: str = "leave-on", area: str = "face",
    age: str = "adult", form: str = "",
) -> Picked:  # fmt: skip
    return pick(rows or load_limits(), jurisdiction=place, on=on, use=use, area=area, age=age, form=form)


def published(substance: str, **facts: str) -> dict[str, Limit]:
    found = picked(**facts)  # type: ignore[arg-type]
    return {bound.id: bound for bound in found.limits if substance in dict(bound.members)}


def test_rows_of_one_limit_are_one_sum_with_their_factors() -> None:
    salt = replace(ROW, substance="X Salt", aliases=("Salt of X",), factor=Fraction("0.8"))
    (bound,) = picked(salt, ROW).limits
    assert dict(bound.members) == {"X Acid": 1, "X Salt": Fraction("0.8"), "Salt of X": Fraction("0.8")}
    assert bound.maximum == Fraction("0.5")


def test_leave_on_and_rinse_off_have_their_own_row() -> None:
    rows = (
        replace(ROW, limit="eu-on", use="leave-on"),
        replace(ROW, limit="eu-off", use="rinse-off", maximum=Fraction("2.5")),
    )
    assert [b.id for b in picked(*rows, use="leave-on").limits] == ["eu-on"]
    assert [b.id for b in picked(*rows, use="rinse-off").limits] == ["eu-off"]


@pytest.mark.parametrize("use", ["", "unknown", "mask"])
def test_a_use_that_is_not_known_is_leave_on(use: str) -> None:
    rows = (replace(ROW, limit="eu-on", use="leave-on"), replace(ROW, limit="eu-off", use="rinse-off"))
    assert [b.id for b in picked(*rows, use=use).limits] == ["eu-on"]


def test_the_strictest_of_one_family_over_the_same_substances_holds() -> None:
    mild = replace(ROW, limit="eu-b", maximum=Fraction(3))
    strict = replace(ROW, limit="eu-c", maximum=Fraction("0.05"))
    assert [b.id for b in picked(mild, strict, ROW).limits] == ["eu-c"]


def test_sums_over_different_substances_hold_side_by_side() -> None:
    wider = (replace(ROW, limit="eu-all"), replace(ROW, limit="eu-all", substance="Y Acid"))
    assert [b.id for b in picked(ROW, *wider).limits] == ["eu-all", "eu-x"]


def test_law_and_label_and_advice_never_replace_each_other() -> None:
    label = replace(ROW, limit="eu-label", basis="label", maximum=Fraction("0.001"))
    advice = replace(ROW, limit="eu-advice", basis="advice", maximum=Fraction("0.1"))
    found = picked(ROW, label, advice)
    assert [b.id for b in found.limits] == ["eu-x"]
    assert [b.id for b in found.labels] == ["eu-label"]
    assert [b.id for b in found.advice] == ["eu-advice"]


@pytest.mark.parametrize(
    ("on", "there"),
    [
        (date(2025, 10, 31), False),
        (date(2025, 11, 1), True),
        (date(2026, 1, 31), True),
        (date(2026, 2, 1), False),
    ],
)
def test_both_days_of_a_window_belong_to_it(on: date, there: bool) -> None:
    row = replace(ROW, starts=date(2025, 11, 1), ends=date(2026, 1, 31))
    assert bool(picked(row, on=on).limits) is there


def test_another_place_has_other_rows() -> None:
    assert not picked(ROW, place="UK").limits
    assert picked(ROW, place="eu").limits
    with pytest.raises(UsageError, match='no limits are known for "Atlantis"'):
        picked(ROW, place="Atlantis")


@pytest.mark.parametrize(
    ("wanted", "area", "there"),
    [
        ((), "face", True), (("hair",), "face", False), (("hair", "scalp"), "Scalp", True),
        (("not", "hair"), "hair", False), (("not", "hair"), "face and hair", True),
        (("body",), "face; body", True),
        (("body",), "", True), (("hair",), "tail", True), (("lip",), "", False), (("hand",), "hands", True),
    ],
)  # fmt: skip
def test_areas(wanted: tuple[str, ...], area: str, there: bool) -> None:
    assert bool(picked(replace(ROW, area=wanted), area=area).limits) is there


@pytest.mark.parametrize(
    ("wanted", "age", "there"),
    [
        ("any", "adult", True), ("under-3", "adult", False), ("under-3", "under 3", True),
        ("under-3", "6 to 12", False),
        ("under-6", "from 4", True), ("not:under-3", "adult", True), ("not:under-3", "baby", False),
        ("under-3", "elderly dogs", True),
    ],
)  # fmt: skip
def test_ages(wanted: str, age: str, there: bool) -> None:
    assert bool(picked(replace(ROW, age=wanted), age=age).limits) is there


@pytest.mark.parametrize(
    ("wanted", "form", "there"),
    [
        (("spray",), "", False), (("spray",), "hair spray", True), (("not", "spray"), "", True),
        (("not", "spray", "aerosol"), "aerosol", False), (("not", "spray"), "paste", True),
    ],
)  # fmt: skip
def test_a_special_form_must_be_stated(wanted: tuple[str, ...], form: str, there: bool) -> None:
    assert bool(picked(replace(ROW, form=wanted), form=form).limits) is there


def test_what_no_column_expresses_is_kept_for_the_hand() -> None:
    row = replace(ROW, machine=False, maximum=None, condition="read the pH")
    found = picked(ROW, row)
    assert found.by_hand == (row,)
    assert len(found.limits) == 1


def test_the_sentence_says_who_counts_how_much_and_why() -> None:
    salt = replace(ROW, substance="X Salt", factor=Fraction("0.8"), use="leave-on")
    (bound,) = picked(replace(ROW, use="leave-on"), salt).limits
    assert bound.sentence == (
        "X acid and its salt together, counted as X acid: at most 0.5 % in a leave-on product "
        "(A rule, entry 1)."
    )
    (barred,) = picked(replace(ROW, maximum=Fraction(0), use="leave-on", status="memory")).limits
    assert (
        barred.sentence
        == "X acid and its salt: not allowed in a leave-on product (A rule, entry 1, from memory)."
    )
    (label,) = picked(replace(ROW, basis="label", counts_as="", maximum=Fraction("0.001"))).labels
    assert label.sentence == "X acid and its salt: to be stated on the label above 0.001 % (A rule, entry 1)."


def test_one_part_from_memory_makes_the_whole_sum_from_memory() -> None:
    (bound,) = picked(ROW, replace(ROW, substance="Y", status="memory")).limits
    assert bound.status == "memory"


def test_benzoate_is_counted_as_acid_by_use() -> None:
    on = published("Sodium Benzoate", use="leave-on")["eu-annex5-1-benzoic-leave-on"]
    off = published("Sodium Benzoate", use="rinse-off")["eu-annex5-1-benzoic-rinse-off"]
    assert (on.maximum, off.maximum) == (Fraction("0.5"), Fraction("2.5"))
    assert on.sentence == (
        "Benzoic acid and its sodium salt together, counted as benzoic acid: at most 0.5 % in a leave-on "
        "product (Regulation (EC) No 1223/2009, Annex V entry 1)."
    )


def test_vitamin_a_from_its_first_day_and_by_area() -> None:
    rows = load_limits()
    before = pick(
        rows, jurisdiction="EU", on=date(2025, 10, 31), use="leave-on", area="face", age="adult", form=""
    )
    assert not [b for b in before.limits if "Retinol" in dict(b.members)]
    assert {b.maximum for b in published("Retinol", area="face").values()} == {Fraction("0.3")}
    assert {b.maximum for b in published("Retinol", area="body").values()} == {Fraction("0.05")}
    assert {b.maximum for b in published("Retinol", area="face and body").values()} == {Fraction("0.05")}


def test_salicylic_acid_from_every_use() -> None:
    assert {b.maximum for b in published("Salicylic Acid", use="rinse-off", area="hair").values()} == {
        Fraction(3)
    }
    assert {b.maximum for b in published("Salicylic Acid", area="face").values()} == {Fraction(2)}
    assert {b.maximum for b in published("Salicylic Acid", area="body").values()} == {Fraction("0.5")}
    assert Fraction(0) in {b.maximum for b in published("Salicylic Acid", age="under 3").values()}


def test_dehydroacetic_acid_is_barred_in_sprays_only() -> None:
    assert {b.maximum for b in published("Dehydroacetic Acid", form="").values()} == {Fraction("0.6")}
    assert {b.maximum for b in published("Dehydroacetic Acid", form="spray").values()} == {Fraction(0)}


def test_allergens_by_use_and_day() -> None:
    def thresholds(use: str, on: date, place: str = "EU") -> dict[str, Fraction]:
        return {n: b.maximum for b in picked(use=use, on=on, place=place).labels for n, _ in b.members}

    assert thresholds("leave-on", DAY)["Linalool"] == Fraction("0.001")
    assert thresholds("rinse-off", DAY)["Linalool"] == Fraction("0.01")
    assert "Menthol" in thresholds("leave-on", date(2026, 8, 1))
    assert "Menthol" not in thresholds("leave-on", date(2026, 7, 31))
    assert "Menthol" not in thresholds("leave-on", DAY, "UK")
    assert "Linalool" in thresholds("leave-on", DAY, "UK")
    assert "Linalool" not in thresholds("leave-on", date(2026, 4, 11), "CA")


def test_the_formaldehyde_threshold_changes_by_day_in_the_uk() -> None:
    def threshold(on: date) -> set[Fraction]:
        return {b.maximum for b in picked(on=on, place="UK").labels if "DMDM Hydantoin" in dict(b.members)}

    assert threshold(date(2026, 7, 14)) == {Fraction("0.05")}
    assert threshold(date(2026, 7, 15)) == {Fraction("0.001")}


def test_committee_advice_is_never_a_limit() -> None:
    found = picked()
    tea_tree = "Melaleuca Alternifolia Leaf Oil"
    assert [b.maximum for b in found.advice if tea_tree in dict(b.members)] == [Fraction("0.1")]
    assert not [b for b in found.limits if tea_tree in dict(b.members)]


def test_the_order_of_rows_changes_nothing() -> None:
    rows = load_limits()
    assert picked(*rows) == picked(*reversed(rows))
