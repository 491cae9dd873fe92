"""Planned trials on the terminal: the room, the batches, what they tell."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

from optimiser.cli.console import console, fixed, plain, short, table
from optimiser.trials.next_trials import NextTrials

MODELS = {"linear": "straight", "quadratic": "with pairs", "special-cubic": "with pairs and triples"}
MOST_SAID = 4
WIDEST = 56
"""Characters that names of lines may take as heads of columns; letters stand for them beyond that."""


def show_next(planned: NextTrials) -> None:
    out = console()
    room, count = planned.room, len(planned.batches)
    trials = "the next trial" if count == 1 else f"the next {count} trials"
    out.print(plain(f"{room.request.formula.name}: {trials}. Computed, not tested."))
    _show_room(out, planned)
    _show_batches(out, planned)
    _show_told(out, planned)
    _show_rest(out, planned)


def _show_room(out: Any, planned: NextTrials) -> None:
    corners = planned.room.corners
    rows = []
    for part, (head, whole) in enumerate(zip(_heads(planned), planned.parts, strict=True)):
        name = whole if head == whole else f"{head}  {whole}"
        low, high = corners.span(part)
        least, most = (_held(planned, part, most=most) for most in (False, True))
        rows.append((name, short(low), least))
        rows.append(("", short(high), most))
    out.print("\nRoom that the brief leaves, % w/w, all other lines kept")
    out.print(table(("Line", "From, to", "Held by"), rows, right=(1,)))


def _heads(planned: NextTrials) -> tuple[str, ...]:
    if sum(len(name) for name in planned.parts) <= WIDEST:
        return planned.parts
    return tuple("ABCDEF"[: len(planned.parts)])


def _held(planned: NextTrials, part: int, *, most: bool) -> str:
    """The rules at one end; the filler is held by what holds the others."""
    if part == len(planned.parts) - 1:
        return "takes the rest"
    found = list(dict.fromkeys(planned.room.corners.holders(part, most=most)))
    return found[0] if found else ""


def _show_batches(out: Any, planned: NextTrials) -> None:
    blocks = planned.wanted.blocks > 1
    heads = ["No.", *(["Day"] if blocks else []), *_heads(planned), "Where", "Without it"]
    rows = []
    for batch in planned.batches:
        where = f"{batch.spot.what}, again" if batch.again else batch.spot.what
        where += ", drawn in" if batch.spot.drawn else ""
        day = [str(batch.block)] if blocks else []
        rows.append(
            [str(batch.number), *day, *(fixed(v) for v in batch.spot.point), where, _error(batch.without)]
        )
    out.print("\nBatches in the order to make them, % w/w")
    numbers = range(len(heads) - 2)
    out.print(table(heads, rows, right=(*numbers, len(heads) - 1)))


def _error(variance: float | None) -> str:
    """A prediction's error in scatters of one reading."""
    return "no model" if variance is None else fixed(Fraction(repr(math.sqrt(variance))), 2)


def _show_told(out: Any, planned: NextTrials) -> None:
    model, wanted = MODELS[planned.wanted.kind], planned.wanted
    lines, after = len(planned.model.terms), planned.after
    out.print("\nWhat they tell")
    out.print(f"  Model: {model} ({wanted.kind}), {lines} numbers to learn.")
    out.print(
        f"  A value foretold in this room is off by {_error(after.mean_variance)} times the scatter of one"
    )
    if planned.before is None:
        out.print("  reading, on average; the trials made so far cannot foretell one.")
    else:
        now = _error(planned.before.mean_variance)
        out.print(f"  reading, on average; from the trials made so far by {now} times.")
    out.print("  Without it: that figure if this one batch were left out.")
    if planned.before is not None and planned.before.terms == after.terms:
        gain = math.exp((after.log_det - planned.before.log_det) / (2 * after.terms))
        out.print(f"  The model's numbers come out {fixed(Fraction(repr(gain)), 2)} times as sharp as now.")
    again = sum(batch.again for batch in planned.batches)
    if again:
        out.print(f"  Made again: {again}; they show how much two jars of one formula differ.")
    else:
        out.print("  No batch is made again, so what one jar differs from the next will not be told.")
    if wanted.by_days:
        out.print("  What one day differs from the next is told apart.")


def _show_rest(out: Any, planned: NextTrials) -> None:
    used = [one for one in planned.earlier if one.point]
    days: dict[str, list[str]] = {}
    for one in used:
        days.setdefault(one.day if planned.wanted.by_days else "", []).append(one.id)
    for day, names in days.items():
        out.print(plain(f"  Counted as made{' on ' + day if day else ''}: {', '.join(names)}."))
    if len({one.day for one in used}) > 1 and not planned.wanted.by_days:
        out.print("  They were made on several days, which count as one; --new-day tells days apart.")
    for one in planned.earlier:
        if not one.point:
            out.print(plain(f"  Not counted: {one.id}; {one.why_not}."))
    for gone in planned.refused[:MOST_SAID]:
        at = ", ".join(f"{name} {short(v)}" for name, v in zip(planned.parts, gone.point, strict=True))
        out.print(plain(f"  Dropped, the judge does not pass it: {at}. {gone.verdict.rule.head.sentence}"))
    if len(planned.refused) > MOST_SAID:
        out.print(f"  … and {len(planned.refused) - MOST_SAID} more (--json lists them).")
    for sentence in planned.room.by_judge:
        out.print(plain(f"  Looked at point by point: {sentence}"))
