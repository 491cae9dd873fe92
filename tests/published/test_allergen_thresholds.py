"""Label thresholds of listed allergens: 0.001 % in leave-on and 0.01 % in rinse-off products.

Regulation (EC) No 1223/2009, Annex III (European Commission's annex download, state of February 2024), and
Regulation (EU) 2023/1545, whose new names bind products placed on the market from 1 August 2026 (its text as
reported in trade notes; 81 entries with the older ones).
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from optimiser.domain.request import LabelLimit
from optimiser.law.allergens import label_limits
from optimiser.law.pick import pick
from optimiser.loading.reference import load_limits

BEFORE, AFTER = date(2026, 7, 31), date(2026, 8, 1)
OLD = ("Linalool", "Limonene", "Citral", "Geraniol", "Benzyl Alcohol", "Coumarin", "Eugenol", "Citronellol")
NEW = ("Menthol", "Camphor", "Pinene", "Linalyl Acetate", "Rose Ketones", "Lavandula Oil/Extract")


def listed(use: str, on: date, where: str = "EU") -> dict[str, LabelLimit]:
    found = pick(load_limits(), jurisdiction=where, on=on, use=use, area="face", age="adult", form="")
    return {one.name: one for one in label_limits(found)}


@pytest.mark.parametrize(("use", "threshold"), [("leave-on", "0.001"), ("rinse-off", "0.01")])
def test_every_name_has_the_threshold_of_the_use(use: str, threshold: str) -> None:
    assert {one.threshold for one in listed(use, AFTER).values()} == {Fraction(threshold)}


def test_the_names_of_the_later_regulation_bind_from_its_day() -> None:
    before, after = listed("leave-on", BEFORE), listed("leave-on", AFTER)
    assert set(OLD) <= set(before) <= set(after)
    assert set(NEW) <= set(after)
    assert not set(NEW) & set(before)


def test_a_group_has_its_members_under_one_name() -> None:
    ketones = listed("leave-on", AFTER)["Rose Ketones"]
    names = {name for name, _ in ketones.members}
    assert {"Alpha-Damascone", "Beta-Damascone", "Delta-Damascone", "Damascenone"} <= names
    assert {factor for _, factor in ketones.members} == {Fraction(1)}


def test_a_place_without_such_a_list_has_none() -> None:
    assert listed("leave-on", AFTER, "US") == {}
