"""Words and digits of a curve, the same on every paper."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.curve import Axis, Curve, CurvePoint, Shift
from optimiser.units.numbers import DecimalMark, show_number

MOST_SHIFTS = 4
Number = Fraction | None


def places_of(axis: Axis) -> int:
    """Decimals that mean something on this axis."""
    if axis.whole:
        return 0
    return 3 if axis.unit == "%" else 2


def figure(axis: Axis, value: Number, decimal: DecimalMark = "point") -> str:
    if value is None:
        return "–"
    return show_number(value, places_of(axis), decimal=decimal, trim=False)


def title(axis: Axis) -> str:
    return axis.name[:1].upper() + axis.name[1:]


def with_unit(axis: Axis) -> str:
    return f"{title(axis)}, {axis.unit}" if axis.unit else title(axis)


def names_of(found: Curve) -> dict[str, str]:
    return {name: one.name for name, one in found.request.ingredients.items()}


def changes_of(found: Curve, point: CurvePoint, decimal: DecimalMark = "point") -> str:
    """`in: honey; out: kaolin; water +2`, told from the formula before; empty for the first."""
    names = names_of(found)

    def told(shift: Shift) -> str:
        return names.get(shift.ingredient, shift.ingredient)

    came = [told(s) for s in point.shifts if s.came]
    went = [told(s) for s in point.shifts if s.went]
    rest = [s for s in point.shifts if not (s.came or s.went)]
    moved = [f"{told(s)} {_signed(s.after - s.before, decimal)}" for s in rest[:MOST_SHIFTS]]
    more = f" and {len(rest) - MOST_SHIFTS} more" if len(rest) > MOST_SHIFTS else ""
    parts = [
        f"in: {', '.join(came)}" if came else "",
        f"out: {', '.join(went)}" if went else "",
        ", ".join(moved) + more if moved else "",
    ]
    return "; ".join(part for part in parts if part)


def _signed(value: Fraction, decimal: DecimalMark) -> str:
    text = show_number(abs(value), 3, decimal=decimal, trim=True)
    return f"{'+' if value > 0 else chr(0x2212)}{text}"


def proof_of(found: Curve) -> tuple[str, ...]:
    """What was proved, what was not, and what is not shown."""
    told = []
    shown = len(found.points)
    if found.exact:
        rows = " for the rows of the rules" if found.by_rows else ""
        within = f"{float(found.within * 100):g} %"
        told.append(
            f"Proved{rows}: no formula lies beyond the curve by more than {within} of its width or height. "
            "The judge passed every formula shown."
        )
    else:
        told.append(
            f"Not proved to be the best: sampled at {_many(shown, 'formula')}; the judge passed each."
        )
    if shown == 1 and found.exact and not (found.left_out or found.refused):
        told.insert(0, "One formula is the best in both measures: there is nothing to trade.")
    if found.by_rows:
        told.append("Rows of what is predicted are straight lines written at the base.")
    if found.left_out:
        all_of_them = shown + found.left_out + found.refused
        told.append(f"{shown} of its {all_of_them} corners are shown, those where it bends most.")
    if found.refused:
        told.append(
            f"At {_many(found.refused, 'corner')} no formula on the printed steps passed the judge: "
            "there the drawn curve is only what the rows allow."
        )
    return tuple(told)


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
