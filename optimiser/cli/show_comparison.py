"""Two formulas side by side on the terminal."""

from __future__ import annotations

from fractions import Fraction

from optimiser.cli.console import console, fixed, plain, short, signed, table
from optimiser.domain.comparison import Comparison, LinePair, MeasurePair, RulePair
from optimiser.export.plain import digits_of
from optimiser.requests.sentences import first_upper


def show_comparison(found: Comparison, *, whole: bool = False) -> None:
    """Lines and measures that are apart; with `whole` those that are alike too."""
    out = console()
    for word, side in (("First ", found.first), ("Second", found.second)):
        asked = f" ({side.asked})" if side.asked else ""
        out.print(plain(f"{word}  {side.name}{asked}  [{side.id}]"), style="bold")
    count = len(found.apart)
    alike = len(found.lines) - count
    out.print(f"{count} of {len(found.lines)} lines are apart, by {short(found.moved)} points in all.")
    out.print()
    lines = found.lines if whole else found.apart
    if lines:
        heads = ("Ingredient", "First %", "Second %", "Apart")
        out.print(table(heads, [_line(pair) for pair in lines], right=(1, 2, 3)))
    if alike and not whole:
        out.print(f"{alike} {'line is' if alike == 1 else 'lines are'} alike (--all shows).")
    measures = [pair for pair in found.measures if whole or _differs(pair)]
    if measures:
        out.print()
        names = ("Measure", "First", "Second", "Apart", "Unit")
        out.print(table(names, [_measure(pair) for pair in measures], right=(1, 2, 3)))
    for title, texts in (("Rules that one of them breaks", map(_rule, found.rules)), ("Label", found.label)):
        told = list(texts)
        if told:
            out.print()
            out.print(title, style="bold")
            for text in told:
                out.print(plain(f"  - {text}"))
    out.print()


def _line(pair: LinePair) -> tuple[str, ...]:
    mark = " (at most, by reading)" if pair.dosed else ""
    apart = "new" if not pair.first else "out" if not pair.second else signed(pair.moved)
    return f"{pair.name}{mark}", _share(pair.first), _share(pair.second), apart


def _share(value: Fraction) -> str:
    return fixed(value) if value else "–"


def _differs(pair: MeasurePair) -> bool:
    if pair.first is None or pair.second is None:
        return pair.first is not pair.second
    return round(pair.first, digits_of(pair.name, pair.unit)) != round(
        pair.second, digits_of(pair.name, pair.unit)
    )


def _measure(pair: MeasurePair) -> tuple[str, ...]:
    digits = digits_of(pair.name, pair.unit)
    known = pair.first is not None and pair.second is not None
    apart = signed(pair.second - pair.first, digits) if known else ""  # type: ignore[operator]
    return first_upper(pair.name), fixed(pair.first, digits), fixed(pair.second, digits), apart, pair.unit


def _rule(pair: RulePair) -> str:
    words = {None: "has no such rule", True: "holds", False: "does not hold"}
    return f"{pair.sentence} First: {words[pair.first]}. Second: {words[pair.second]}."
