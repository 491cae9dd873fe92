"""Bends, jumps and ends of a best value, against values worked out in another way."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.certify.proof import Optimum
from optimiser.certify.simplex import solve_exactly
from optimiser.explain.ranging import Fine, Piece, piece, piece_of
from optimiser.explain.sides import Member, moved
from optimiser.model.rows import Model, Row, Var

F = Fraction
EXACT = Fine(F(0), F(0))
FAR, STEP = F(100), F(1, 4)
lines = st.lists(st.tuples(st.integers(-9, 9), st.integers(-40, 40)), min_size=1, max_size=6)


def _bend(known: list[tuple[int, int]]) -> tuple[Fraction, Fraction | None]:
    """The slope right of 0 of the highest line, and where the next line rises above it: pairwise."""
    top = max(b for _, b in known)
    slope = max(a for a, b in known if b == top)
    meets = [F(top - b, a - slope) for a, b in known if a > slope]
    first = min(meets, default=None)
    return F(slope), first if first is not None and first < FAR else None


@settings(max_examples=150, deadline=None)
@given(lines)
def test_the_highest_of_lines_bends_where_the_next_one_meets_it(known: list[tuple[int, int]]) -> None:
    found = piece(lambda at: max(F(a) * at + b for a, b in known), F(0), STEP, FAR, EXACT)
    assert found is not None
    assert (found.slope, found.until) == _bend(known)
    assert found.ends == ("" if found.until is None else "bend")


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 399), st.integers(-5, 5), st.integers(1, 9))
def test_a_jump_is_narrowed_down_to_the_grain(tenths: int, slope: int, by: int) -> None:
    at, grain = F(tenths, 10), F(1, 1000)

    def value(limit: Fraction) -> Fraction:
        return slope * limit + (by if limit > at else 0)

    found = piece(value, F(0), STEP, F(40), Fine(F(0), grain, convex=False))
    assert found is not None
    assert found.until is not None
    assert found.slope == slope
    assert found.ends == "jump"
    assert 0 <= at - found.until <= grain


def test_where_there_is_no_answer_any_more_it_says_so() -> None:
    found = piece(lambda at: at if at <= 3 else None, F(0), STEP, FAR, Fine(F(0), F(1, 1000), convex=False))
    assert found is not None
    assert found.until is not None
    assert found.ends == "no answer"
    assert 0 <= 3 - found.until <= F(1, 1000)
    assert piece(lambda at: at if at <= 3 else None, F(3), STEP, FAR, Fine(F(0), F(1, 1000))) is None


def _blend(prices: list[int], works: list[int], most: list[int], least: Fraction) -> Model:
    """Parts that make up 1, each up to so many tenths, with at least so much effect."""
    names = [f"x{i}" for i in range(len(prices))]
    return Model(
        "blend",
        tuple(Var(name, F(0), F(by, 10)) for name, by in zip(names, most, strict=True)),
        (
            Row("total", tuple((name, F(1)) for name in names), F(1), F(1)),
            Row("effect", tuple((n, F(w)) for n, w in zip(names, works, strict=True)), least, None),
        ),
        tuple((name, F(by)) for name, by in zip(names, prices, strict=True)),
    )


four = st.lists(st.integers(0, 12), min_size=4, max_size=4)


@settings(max_examples=60, deadline=None)
@given(four, four, st.lists(st.integers(4, 10), min_size=4, max_size=4), st.integers(0, 9))
def test_a_blend_costs_as_the_price_says_up_to_the_end_and_not_beyond(
    prices: list[int], works: list[int], most: list[int], least: int
) -> None:
    model = _blend(prices, works, most, F(least))
    member = Member("row", "effect", "lower")

    def asked(at: Fraction) -> Fraction | None:
        answer = solve_exactly(moved(model, member, at))
        return answer.objective if isinstance(answer, Optimum) else None

    found, here = piece_of(model, member, F(1, 4), F(20)), asked(F(least))
    hair = F(1, 10**6)
    if found is None:
        assert here is None or asked(least + hair) is None
        return
    assert here is not None
    end = F(20) if found.until is None else found.until
    for part in range(1, 8):
        at = least + (end - least) * part / 7
        assert asked(at) == here + found.slope * (at - least)
    beyond = asked(end + hair)
    if found.ends == "no answer":
        assert beyond is None
    if found.ends == "bend":
        assert beyond is not None
        assert beyond > here + found.slope * (end + hair - least)
    assert isinstance(found, Piece)
