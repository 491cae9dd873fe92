"""The curve of a request between two measures, its corners as formulas that passed the judge."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from fractions import Fraction

from optimiser.checks.acidity import strength_of
from optimiser.domain.curve import Curve, CurvePoint, Shift, Spot
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request, Slot
from optimiser.model.rows import Model
from optimiser.search.axes import Along
from optimiser.search.efficient import NEAR, WITHIN, Efficient, NoCurve, Tell, efficient
from optimiser.search.envelope import Piece
from optimiser.search.grid import on_grid
from optimiser.search.proposal import dress
from optimiser.search.stages import NoAnswer, Optimum, bent, extended, predicted, wishes_held
from optimiser.solver.interface import Limits

PLACES = 9
Shares = dict[Slot, Fraction]


def curve(
    request: Request,
    first: Along,
    second: Along,
    limits: Limits,
    tell: Tell,
    *,
    most_points: int = 10,
) -> Curve | NoAnswer:
    """All formulas of which none is better in both measures, over what meets every must.

    Wishes are met as well as they can be first. Rows of a predicted pH are written at the base; the judge
    decides about every formula shown.
    """
    tell("looking for both ends of the curve")
    axes, base = (first, second), dict(request.base)
    model = _rows(request, axes, limits)
    if isinstance(model, NoAnswer):
        return model
    found = efficient(model, (first.objective.cost, second.objective.cost), limits, tell)
    if isinstance(found, NoCurve):
        return NoAnswer(found.infeasible, found.why)
    corners = _corners(found)
    shown = most_bent([(x, piece.at(x)) for piece, x in corners], most_points)
    points, refused = _judged(request, model, found, [corners[n] for n in shown], axes, limits, tell)
    return Curve(
        request,
        first.axis,
        second.axis,
        (first.value(request, base), second.value(request, base)),
        _drawn(found, axes),
        points,
        found.exact and not any(bent(rule) for rule in request.rules),
        Fraction(repr(WITHIN)),
        any(predicted(rule) for rule in request.rules),
        len(corners) - len(shown),
        refused,
        found.solves,
    )


def _rows(request: Request, axes: tuple[Along, Along], limits: Limits) -> Model | NoAnswer:
    """Rows written at the base, wishes met as well as they can be, and what both measures need."""
    strength = strength_of(request, {slot: float(share) for slot, share in request.base.items()})
    model = wishes_held(request, limits, Incumbent({}, strength))
    if isinstance(model, NoAnswer):
        return model
    for one in axes:
        model = extended(model, one.objective)
    return model


def _falling(found: Efficient) -> list[list[Piece]]:
    """Runs of pieces that fall and touch; level pieces are better in neither measure and left out."""
    runs: list[list[Piece]] = []
    for piece in found.edge:
        if piece.y1 - piece.y2 <= NEAR:
            runs.append([])
        elif runs and runs[-1] and abs(runs[-1][-1].y2 - piece.y1) <= NEAR:
            runs[-1].append(piece)
        else:
            runs.append([piece])
    return [run for run in runs if run]


def _corners(found: Efficient) -> list[tuple[Piece, float]]:
    """Every place where a run begins, bends or ends; and single formulas between two level parts."""
    corners: list[tuple[Piece, float]] = []
    low = float("inf")
    for piece in found.edge:
        if piece.y1 < low - NEAR:
            corners.append((piece, piece.x1))
        low = min(low, piece.y1)
        if piece.y2 < low - NEAR:
            corners.append((piece, piece.x2))
            low = piece.y2
    return corners


def most_bent(spots: list[tuple[float, float]], most: int) -> list[int]:
    """Both ends, then those farthest from the straight lines between what is shown already."""
    if len(spots) <= most:
        return list(range(len(spots)))
    shown = [0, len(spots) - 1]
    while len(shown) < max(most, 2):
        gaps = [
            (_off(spots[n], spots[a], spots[b]), -n)
            for a, b in itertools.pairwise(shown)
            for n in range(a + 1, b)
        ]
        shown = sorted([*shown, -max(gaps)[1]])
    return shown


def _off(spot: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    across, up = b[0] - a[0], b[1] - a[1]
    length = (across**2 + up**2) ** 0.5 or 1.0
    return abs(across * (spot[1] - a[1]) - up * (spot[0] - a[0])) / length


def _drawn(found: Efficient, axes: tuple[Along, Along]) -> tuple[tuple[Spot, ...], ...]:
    def spot(x: float, y: float) -> Spot:
        at = (found.start[0] + found.span[0] * x, found.start[1] + found.span[1] * y)
        one, two = (
            along.sign * Fraction(repr(round(value, PLACES))) for along, value in zip(axes, at, strict=True)
        )
        return one, two

    runs = _falling(found)
    bends = [[(run[0].x1, run[0].y1), *((p.x2, p.y2) for p in run)] for run in runs]
    lines = [tuple(spot(x, y) for x, y in run) for run in bends]
    ends = {(round(x, 7), round(y, 7)) for run in bends for x, y in run}
    single = [(p, x) for p, x in _corners(found) if (round(x, 7), round(p.at(x), 7)) not in ends]
    found_lines = [*lines, *((spot(x, p.at(x)),) for p, x in single)]
    return tuple(sorted(found_lines, key=lambda line: axes[0].sign * line[0][0]))


def _judged(
    request: Request,
    model: Model,
    found: Efficient,
    corners: list[tuple[Piece, float]],
    axes: tuple[Along, Along],
    limits: Limits,
    tell: Tell,
) -> tuple[tuple[CurvePoint, ...], int]:
    """The formulas at these corners to steps that can be weighed, those that are worse in both left out."""
    spots: list[tuple[Fraction, Fraction, Shares]] = []
    refused = 0
    for number, (piece, x) in enumerate(corners):
        tell(f"rounding formula {number + 1} of {len(corners)} to steps that can be weighed")
        optimum = Optimum(model, found.values_at(piece, x), ())
        shares = on_grid(request, optimum, limits, quick=True)
        values = [None] if shares is None else [along.value(request, shares) for along in axes]
        if shares is None or values[0] is None or values[-1] is None:
            refused += 1
            continue
        spots.append((values[0], values[1], shares))  # type: ignore[arg-type]
    kept = _efficient_only(spots, axes)
    points: list[CurvePoint] = []
    for number, (one, two, shares) in enumerate(kept, start=1):
        proposal = dress(request, shares, (), f"Formula {number}")
        shifts = shifts_between(points[-1].proposal, proposal) if points else ()
        points.append(CurvePoint(number, one, two, proposal, shifts))
    return tuple(points), refused


def _efficient_only(
    spots: list[tuple[Fraction, Fraction, Shares]], axes: tuple[Along, Along]
) -> list[tuple[Fraction, Fraction, Shares]]:
    """Sorted along the first measure, each better in the second than all before it."""
    a, b = (along.sign for along in axes)
    kept: list[tuple[Fraction, Fraction, Shares]] = []
    for spot in sorted(spots, key=lambda s: (a * s[0], b * s[1])):
        if not kept or b * spot[1] < b * kept[-1][1]:
            kept.append(spot)
    return kept


def shifts_between(before: Proposal, after: Proposal) -> tuple[Shift, ...]:
    """What came, what went, what moved, the largest first."""
    was, now = totals_of(before), totals_of(after)
    ids = dict.fromkeys((*was, *now))
    found = [Shift(name, was.get(name, Fraction(0)), now.get(name, Fraction(0))) for name in ids]
    moved = [one for one in found if one.before != one.after]
    return tuple(
        sorted(moved, key=lambda s: (not (s.came or s.went), -abs(s.after - s.before), s.ingredient))
    )


def totals_of(proposal: Proposal) -> Mapping[str, Fraction]:
    found: dict[str, Fraction] = {}
    for line in proposal.lines:
        found[line.ingredient] = found.get(line.ingredient, Fraction(0)) + line.percent
    return found
