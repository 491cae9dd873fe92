"""Regions that are empty, a single blend, or tied, told apart."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.statistics.region import Region, Row, candidates, corners, spread

F = Fraction
LOW, HIGH = (F(0), F(0), F(0)), (F(1), F(1), F(1))
ABC = ("a", "b", "c")


def test_an_empty_region_has_no_corner_and_no_middle() -> None:
    found = corners(Region(ABC, (F(1, 2), F(1, 2), F(1, 10)), HIGH))
    assert (found.empty, found.degenerate, found.dimension) == (True, False, -1)
    assert candidates(found) == ()
    assert spread(found, 3) == ()
    with pytest.raises(ValueError, match="empty"):
        _ = found.middle


def test_a_single_blend() -> None:
    found = corners(Region(ABC, (F(1, 2), F(3, 10), F(1, 5)), HIGH))
    assert found.points == ((F(1, 2), F(3, 10), F(1, 5)),)
    assert (found.degenerate, found.dimension) == (True, 0)


def test_parts_tied_by_a_row_leave_one_way_to_vary() -> None:
    tied = Row((F(1), F(-2), F(0)), F(0), F(0), "a is twice b")
    found = corners(Region(ABC, LOW, HIGH, (tied,)))
    assert found.points == ((F(0), F(0), F(1)), (F(2, 3), F(1, 3), F(0)))
    assert (found.degenerate, found.dimension) == (True, 1)


def test_two_rows_that_only_meet_in_a_line_tie_as_well() -> None:
    rows = (Row((F(1), F(1), F(0)), None, F(1, 3), "few"), Row((F(1), F(1), F(0)), F(1, 3), None, "many"))
    found = corners(Region(ABC, LOW, HIGH, rows))
    assert (len(found.points), found.dimension) == (2, 1)


def test_what_holds_an_end_is_named() -> None:
    cap = Row((F(1), F(1), F(0)), None, F(2, 5), "no more than 40 % of both")
    found = corners(Region(ABC, LOW, HIGH, (cap,)))
    assert found.span(0) == (F(0), F(2, 5))
    assert found.holders(0, most=True) == ("the limit of b", "no more than 40 % of both")


def test_the_total_may_be_any_number() -> None:
    found = corners(Region(("a", "b"), (F(5), F(0)), (F(60), F(70)), total=F(73)))
    assert found.points == ((F(5), F(68)), (F(60), F(13)))
