"""The drawing of trials left out: names that can be read, and nothing that no other trial speaks of."""

from __future__ import annotations

import re
from collections.abc import Sequence

from optimiser.export.spots_svg import NONE, spots_svg
from optimiser.trials.learning import Foretold, Lesson


def spot(
    trial: str, read: float, told: float, *, by: Sequence[str] = ("x",), measure: str = "ph"
) -> Foretold:
    ends = (told, told - 0.3, told + 0.3)
    return Foretold(trial, measure, "pH", read, ends, ends, tuple(by))


def names(*spots: Foretold) -> list[str]:
    return re.findall(r'class="number"[^>]*>([^<]*)<', spots_svg(Lesson((), spots)))


def test_names_that_would_stand_on_each_other_share_a_line() -> None:
    assert names(spot("a-1", 6.6, 6.6), spot("a-2", 6.6, 6.605), spot("a-3", 5.5, 5.2)) == [
        "a-3",
        "a-1; a-2",
    ]
    assert names(spot("a-1", 6.6, 6.7), spot("a-2", 6.6, 6.2)) == ["a-2, outside", "a-1"]


def test_a_reading_that_no_other_trial_speaks_of_is_not_drawn_as_foretold_by_them() -> None:
    lone = spot("lone", 6, 6, by=(), measure="ph-before")
    drawn = spots_svg(Lesson((), (spot("a-1", 6.6, 6.6), lone)))
    assert "lone" not in drawn
    assert "1 of 1 readings lie" in drawn
    assert spots_svg(Lesson((), (lone,))).count(NONE) == 2
