"""Random small models."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from optimiser.model.rows import Kind, Model, Row, Var, linear

SMALL = st.integers(-6, 6).map(Fraction)
TENTHS = st.integers(-60, 60).map(lambda n: Fraction(n, 10))


@st.composite
def limits(draw: st.DrawFn) -> tuple[Fraction | None, Fraction | None]:
    low, high = sorted((draw(TENTHS), draw(TENTHS)))
    shape = draw(st.sampled_from(["both", "lower", "upper", "equal"]))
    if shape == "equal":
        return low, low
    return (low if shape != "upper" else None), (high if shape != "lower" else None)


@st.composite
def models(draw: st.DrawFn, kinds: str = "C", boxed: bool = False, most: int = 4) -> Model:
    """Up to `most` variables and rows; `boxed`: every variable within whole limits that lie close."""
    names = [f"x{i}" for i in range(draw(st.integers(1, most)))]
    variables = []
    for name in names:
        low, high = draw(limits())
        if boxed:
            start = draw(st.integers(-3, 3))
            low, high = Fraction(start), Fraction(start + draw(st.integers(0, 3)))
        elif draw(st.booleans()):
            low, high = Fraction(0), None
        kind: Kind = "I" if draw(st.sampled_from(kinds)) == "I" else "C"
        variables.append(Var(name, low, high, kind))
    rows = []
    for i in range(draw(st.integers(0, most))):
        coef = linear({name: draw(SMALL) for name in names})
        low, high = draw(limits())
        rows.append(Row(f"r{i}", coef, low, high))
    cost = linear({name: draw(SMALL) for name in names})
    return Model(
        "random", tuple(variables), tuple(rows), cost, draw(st.sampled_from(["min", "max"])), draw(TENTHS)
    )
