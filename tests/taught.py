"""Responses as if trials had taught them, on the small mask. All numbers are invented."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from optimiser.domain.request import Request
from optimiser.domain.response import Fitted, Reach
from optimiser.domain.rules import Amount, Head, Response, Rule
from tests.small import INGREDIENTS, fr, head, request

VARIED = (
    Reach("kaolin", fr(10), fr(20)),
    Reach("glycerin", fr(2), fr(10)),
    Reach("water", fr(60), fr(82)),
)
OTHERS = tuple(
    Reach(name, fr(low), fr(high))
    for name, low, high in (
        ("benzoate", "0.4", "0.5"),
        ("bentonite", "5", "7"),
        ("sorbate", "0.3", "0.4"),
        ("xanthan", "0.3", "0.5"),
    )
)
Terms = dict[tuple[str, ...], str]
STRAIGHT: Terms = {("kaolin",): "2", ("glycerin",): "30", ("water",): "5"}
BENT: Terms = {
    **STRAIGHT,
    ("kaolin", "glycerin"): "-60",
    ("kaolin", "water"): "12",
    ("glycerin", "water"): "-8",
}


def fitted(
    of: Terms | None = None,
    *,
    lows: tuple[str, ...] = ("0", "0", "0"),
    deviation: str = "0.2",
    trials: tuple[str, ...] = ("mask-1", "mask-2", "mask-9"),
) -> Fitted:
    """Softness in kaolin, glycerin and water; coefficients scatter by 0.3 without leaning on each other."""
    terms = STRAIGHT if of is None else of
    size = range(len(terms))
    return Fitted(
        id="softness",
        name="softness",
        model="linear" if all(len(term) == 1 for term in terms) else "quadratic",
        varied=VARIED,
        together=(fr(90), fr(95)),
        terms=tuple(terms),
        coefficients=tuple(fr(value) for value in terms.values()),
        covariance=tuple(tuple(fr("0.09") if i == j else Fraction(0) for j in size) for i in size),
        deviation=fr(deviation),
        freedom=5,
        sure=fr("2.015"),
        trials=trials,
        fitted=date(2026, 11, 25),
        lows=tuple(fr(low) for low in lows),
        others=OTHERS,
        scale=(fr(0), fr(10)),
    )


def rule(of: Fitted, low: str | None = None, high: str | None = None, *, surely: bool = False) -> Response:
    """A must on it; `surely` as a matter of safety."""
    made = head("softness", f"Softness: at least {low}.", "safety" if surely else "character")
    return Response(made, of, None if low is None else fr(low), None if high is None else fr(high), True)


def bounds(of: Fitted) -> tuple[Rule, ...]:
    """Rules that keep the mask where the trials were, and out of it what no trial had."""
    known = [*of.varied, *of.others]
    strange = sorted(set(INGREDIENTS) - of.known)
    return tuple(
        Amount(
            Head(f"trials#softness {one.ingredient}", f"{one.ingredient} holds."),
            one.ingredient,
            one.low,
            one.high,
        )
        for one in (*known, *(Reach(name, fr(0), fr(0)) for name in strange))
    )


def taught_mask(one: Response) -> Request:
    """The small mask under one response and where it holds."""
    return request(one, *bounds(one.fitted))
