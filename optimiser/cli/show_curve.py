"""The curve between two wishes on the terminal."""

from __future__ import annotations

from optimiser.cli.console import console, plain, table
from optimiser.domain.curve import Curve
from optimiser.export.curve_words import changes_of, figure, proof_of, title, with_unit


def show_curve(found: Curve) -> None:
    """The formulas at its corners, what changes from each to the next, and what was proved."""
    out = console()
    out.print(plain(f"{found.request.name} · {title(found.first)} against {found.second.name}"), style="bold")
    base = [
        f"{axis.name} {figure(axis, value)} {axis.unit}".strip()
        for axis, value in zip((found.first, found.second), found.base, strict=True)
    ]
    out.print(plain(f"The base: {', '.join(base)}."))
    out.print()
    rows = [
        (
            str(point.number),
            figure(found.first, point.first),
            figure(found.second, point.second),
            changes_of(found, point),
        )
        for point in found.points
    ]
    changes = "What changes from the one before, points of %"
    heads = ("No.", with_unit(found.first), with_unit(found.second), changes)
    out.print(table(heads, rows, right=(0, 1, 2)))
    out.print()
    for text in proof_of(found):
        out.print(plain(text))
