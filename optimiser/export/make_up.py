"""What a formula is made of as a drawn bar: one part a group of ingredients, words beside every part."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from html import escape

from optimiser.export.plain import clean
from optimiser.units.numbers import DecimalMark, show_number

WIDTH, BAR, GAP, LINE = 640, 26, 30, 15
LEFT, RIGHT = 0, 640
TINTS = ("#dfe6df", "#f3efe4", "#cbd8d6", "#ece4da")
FONT = "Source Sans 3, Segoe UI, Helvetica Neue, Arial, Liberation Sans, sans-serif"
INK, SOFT = "#1f2523", "#57605c"
LETTER = 6.2
"""Width of a letter of the labels, in units of the drawing: a part too narrow for its words is told below."""

Parts = Sequence[tuple[str, Fraction]]


def make_up_svg(bars: Sequence[tuple[str, Parts]], decimal: DecimalMark = "point") -> str:
    """An SVG of one or two bars, each (title, parts as (words, share in %)); parts in the order given.

    Parts too narrow for their words are told under their bar.
    """
    drawn: list[str] = []
    top = 0
    for title, parts in bars:
        rows = _narrow(parts, decimal)
        drawn.append(_text(LEFT, top + 11, title, bold=True))
        drawn += _bar(parts, top + LINE + 2, decimal)
        for number, row in enumerate(rows):
            drawn.append(_text(LEFT, top + LINE + BAR + 16 + number * LINE, row, soft=True))
        top += LINE + BAR + 8 + len(rows) * LINE + GAP
    height = max(top - GAP + 4, 1)
    told = "; ".join(f"{clean(title)}: {_told(parts, decimal)}" for title, parts in bars)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-label="{escape(told)}" font-family="{FONT}" font-size="11">'
        f"{''.join(drawn)}</svg>"
    )


def _spans(parts: Parts) -> dict[str, tuple[float, float]]:
    found, at = {}, Fraction(0)
    for name, share in parts:
        found[name] = (_x(at), _x(at + share))
        at += share
    return found


def _x(share: Fraction) -> float:
    return float(LEFT + (RIGHT - LEFT) * share / 100)


def _bar(parts: Parts, top: int, decimal: DecimalMark) -> list[str]:
    found = []
    for number, (name, (left, right)) in enumerate(_spans(parts).items()):
        tint = TINTS[number % len(TINTS)]
        found.append(
            f'<rect x="{left:.1f}" y="{top}" width="{right - left:.1f}" height="{BAR}" fill="{tint}" '
            f'stroke="#fff" stroke-width="1"/>'
        )
        label = _label(name, dict(parts)[name], decimal)
        if _fits(label, right - left):
            found.append(_text(left + 5, top + 17, label))
    found.append(
        f'<rect x="{LEFT}.5" y="{top}.5" width="{RIGHT - LEFT - 1}" height="{BAR - 1}" fill="none" '
        f'stroke="{SOFT}"/>'
    )
    return found


def _label(name: str, share: Fraction, decimal: DecimalMark) -> str:
    return f"{clean(name)} {show_number(share, 1 if share >= 1 else 2, decimal=decimal, trim=True)} %"


def _fits(label: str, width: float) -> bool:
    return len(label) * LETTER + 8 <= width


def _narrow(parts: Parts, decimal: DecimalMark) -> list[str]:
    """The words of parts that are too narrow for them, in lines that fit."""
    labels = [(_label(name, share, decimal), _x(share) - LEFT) for name, share in parts]
    words = [label for label, width in labels if not _fits(label, width)]
    lines: list[str] = []
    for word in words:
        joined = f"{lines[-1]} · {word}" if lines else word
        if lines and len(joined) * (LETTER - 0.8) <= WIDTH:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines


def _told(parts: Parts, decimal: DecimalMark) -> str:
    return ", ".join(_label(name, share, decimal) for name, share in parts)


def _text(x: float, y: float, words: str, *, bold: bool = False, soft: bool = False) -> str:
    weight = ' font-weight="600"' if bold else ""
    return f'<text x="{x:.1f}" y="{y}"{weight} fill="{SOFT if soft else INK}">{escape(clean(words))}</text>'
