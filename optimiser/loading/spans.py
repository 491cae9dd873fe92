"""Limits as they are written beside a measure: at least, at most, between, within so much of the base."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.rules import FORECASTS
from optimiser.domain.wanted import Span, Topic
from optimiser.loading.entries import Entries
from optimiser.loading.findings import shown, squeezed
from optimiser.loading.names import Reader
from optimiser.units.numbers import NumberFault, read_number
from optimiser.units.quantities import read_with_unit

LIMITS = ("at_least", "at_most", "between", "within")
SIDES = ("at_least", "at_most", "between")
LIMITS_OF: dict[str, tuple[str, ...]] = {
    "ph": ("between",),
    "covers": (),
    "reaches_water": (),
    "free_liquid": ("at_least", "at_most", "between"),
    **dict.fromkeys(FORECASTS, ("at_least", "at_most", "between")),
    "buffer": ("at_least",),
    "hlb": ("within",),
    "undissolved": ("at_most",),
    "allergens": ("at_most",),
    "response": SIDES,
    "cost": ("at_most",),
    "newcomers": ("at_most",),
    "lines": ("at_most",),
    "ratio": ("at_least", "at_most", "between"),
}
_OF_BASE = re.compile(r"(.+?)(?:\s+of\s+base)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Scale:
    """How the limits of one measure are read: their unit, and the highest that makes sense."""

    topic: Topic
    unit: str
    highest: int | None = None


def read_span(entries: Entries, reader: Reader, scale: Scale) -> Span | None:
    """The limits beside a measure; None with the problem noted when there is none, or they cross."""
    limits = LIMITS_OF.get(scale.topic, LIMITS)
    if not any(limit in entries for limit in limits):
        reader.findings.add(entries.node.line, entries.entry, f"a limit ({', '.join(limits)})", "none")
        return None
    before = len(reader.findings.problems)
    span = Span()
    for limit in ("at_least", "at_most"):
        if limit in entries:
            span = _one_side(span, limit, entries, reader, scale)
    if "between" in entries:
        span = _between(span, entries, reader, scale)
    if "within" in entries:
        span = _within(span, entries, reader)
    if len(reader.findings.problems) > before:
        return None
    if span.low is not None and span.high is not None and span.low > span.high:
        reader.findings.add(
            entries.node.line, entries.entry, "the lower limit first", "a lower limit above the upper"
        )
        return None
    return span


def _one_side(span: Span, limit: str, entries: Entries, reader: Reader, scale: Scale) -> Span:
    text = entries.text(limit, needed=True)
    side = "low" if limit == "at_least" else "high"
    if not text:
        return span
    of_base = _OF_BASE.fullmatch(squeezed(text))
    if of_base is None:
        value = _limit(text, entries.line(limit), entries.entry, reader, scale)
        return span if value is None else replace(span, **{side: value})
    read = read_with_unit(of_base[1], reader.names.decimal, "%")
    part = reader.findings.number(entries.line(limit), entries.entry, read)
    return span if part is None else replace(span, **{f"{side}_part": part / 100})


def _between(span: Span, entries: Entries, reader: Reader, scale: Scale) -> Span:
    texts = entries.texts("between")
    if len(texts) != 2:
        reader.findings.add(
            entries.line("between"),
            entries.entry,
            "two limits, [lower, upper]",
            f"{len(texts)}",
            "put numbers with a comma in quotes",
        )
        return span
    if span.low is not None or span.high is not None:
        reader.findings.add(entries.line("between"), entries.entry, "between: or at_least:/at_most:", "both")
    low, high = (_limit(text, line, entries.entry, reader, scale) for text, line in texts)
    return replace(span, low=low, high=high)


def _within(span: Span, entries: Entries, reader: Reader) -> Span:
    text = entries.text("within", needed=True)
    of_base = _OF_BASE.fullmatch(squeezed(text))
    body = of_base[1] if of_base else ""
    line = entries.line("within")
    points = re.fullmatch(r"(.+?)\s*points?", body, re.IGNORECASE)
    if of_base is None:
        if text:
            number = text.replace("%", "").strip()
            fix = (
                f'write "{number} % of base" (a part of it) or "{number} points of base" (points of per cent)'
            )
            reader.findings.add(line, entries.entry, "within what of the base", shown(text), fix)
        return span
    read: Fraction | NumberFault
    if points:
        read = read_number(points[1], decimal=reader.names.decimal)
    else:
        read = read_with_unit(body, reader.names.decimal, "%")
    value = reader.findings.number(line, entries.entry, read)
    if value is None:
        return span
    if value < 0:
        reader.findings.add(line, entries.entry, "a band of zero or more", shown(text))
    return replace(span, within_points=value) if points else replace(span, within_part=value / 100)


def _limit(text: str, line: int, entry: str, reader: Reader, scale: Scale) -> Fraction | None:
    value = reader.findings.number(line, entry, read_with_unit(text, reader.names.decimal, scale.unit))
    if value is None:
        return None
    if value < 0 or (scale.highest is not None and value > scale.highest):
        top = f"from 0 to {scale.highest}" if scale.highest is not None else "of zero or more"
        reader.findings.add(line, entry, f"a limit {top}", shown(text))
        return None
    return value
