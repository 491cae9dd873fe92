"""Invented creams of the demo's table: one oil phase, blends of two emulsifiers, looked at after a week."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction

from optimiser.domain.trials import Entry, Planned, Trial

F = Fraction
DAY = date(2026, 11, 3)
STRONG, WEAK = "polysorbate-80", "sorbitan-oleate"
HIGH, LOW = F(15), F("4.3")
"""Their HLB in the demo."""
STEPS = tuple(F(n) for n in range(6, 13))
SUNFLOWER = {"sunflower-oil": F(20)}


def cream(
    name: str,
    hlb: Fraction,
    value: float,
    *,
    oils: Mapping[str, Fraction] | None = None,
    grams: int = 4,
    measure: str = "separation",
    days: int = 7,
) -> Trial:
    """100 g with so many grams of emulsifiers at this HLB; read after so many days at 40 C."""
    part = (hlb - LOW) / (HIGH - LOW)
    held = {**(SUNFLOWER if oils is None else oils), STRONG: grams * part, WEAK: grams * (1 - part)}
    lines = {"water": 100 - sum(held.values(), F(0)), **held}
    every = enumerate(lines.items(), 1)
    weighed = [Entry(n, DAY, "weighed", ingredient=one, grams=own) for n, (one, own) in every]
    seen = Entry(
        len(weighed) + 1,
        DAY + timedelta(days),
        "visit",
        measure=measure,
        value=F(f"{value:.6f}"),
        unit="%" if measure == "separation" else "",
        stored_c=F(40),
    )
    planned = tuple(Planned("A", one, own) for one, own in lines.items())
    return Trial(name, "cream", DAY, F(100), planned, entries=(*weighed, seen))


def series(values: Sequence[float], **more: object) -> list[Trial]:
    """cream-1 … cream-7 at HLB 6 to 12."""
    both = enumerate(zip(STEPS, values, strict=True), 1)
    return [cream(f"cream-{n}", hlb, value, **more) for n, (hlb, value) in both]  # type: ignore[arg-type]


def apart(best: float, bend: float = 1.5) -> list[float]:
    """% that comes apart at HLB 6 to 12."""
    return [4 + bend * (float(hlb) - best) ** 2 for hlb in STEPS]
