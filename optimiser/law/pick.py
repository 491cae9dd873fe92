"""The limits that apply to one product, in one jurisdiction, on one day."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from optimiser.errors import UsageError
from optimiser.law.facts import applies, read_facts
from optimiser.law.limits import JURISDICTIONS, Basis, Limit, LimitRow, Picked
from optimiser.law.sentences import sentence_of

__all__ = ["Limit", "LimitRow", "Picked", "pick"]


def pick(
    rows: Iterable[LimitRow], *, jurisdiction: str, on: date, use: str, area: str, age: str, form: str
) -> Picked:
    """All that applies; of several limits over the same substances of one family only the strictest.

    What the words leave open is read strictly. Raises UsageError for a jurisdiction without rows here.
    """
    where = jurisdiction.strip().upper()
    if where not in JURISDICTIONS:
        raise UsageError(
            f'no limits are known for "{jurisdiction}"', f"use one of {', '.join(JURISDICTIONS)}"
        )
    facts = read_facts(use=use, area=area, age=age, form=form)
    found = [row for row in rows if row.jurisdiction == where and in_force(row, on) and applies(row, facts)]
    bounds = _strictest(_bound(group) for group in _groups(row for row in found if row.machine))
    return Picked(
        limits=_of(bounds, "law"),
        by_hand=tuple(
            sorted((row for row in found if not row.machine), key=lambda r: (r.limit, r.substance))
        ),
        labels=_of(bounds, "label"),
        advice=_of(bounds, "advice"),
    )


def in_force(row: LimitRow, on: date) -> bool:
    """Whether the row holds on that day; its first and its last day count."""
    return (row.starts is None or row.starts <= on) and (row.ends is None or on <= row.ends)


def _groups(rows: Iterable[LimitRow]) -> list[list[LimitRow]]:
    groups: dict[str, list[LimitRow]] = {}
    for row in rows:
        groups.setdefault(row.limit, []).append(row)
    return [groups[name] for name in sorted(groups)]


def _bound(rows: list[LimitRow]) -> Limit:
    first = rows[0]
    members = {name: row.factor for row in rows for name in (row.substance, *row.aliases)}
    if first.maximum is None:
        raise ValueError(f"{first.limit}: a limit without a maximum cannot be read by machine")
    status = "memory" if any(row.status == "memory" for row in rows) else "seen"
    return Limit(
        first.limit,
        first.family,
        tuple(sorted(members.items())),
        first.maximum,
        first.basis,
        first.source,
        "memory" if status == "memory" else "seen",
        sentence_of(rows),
    )


def _strictest(bounds: Iterable[Limit]) -> tuple[Limit, ...]:
    """Of limits of one family over the same substances the lowest; ties go to the smaller id."""
    best: dict[tuple[str, Basis, frozenset[str]], Limit] = {}
    for bound in bounds:
        key = (bound.family, bound.basis, frozenset(name.casefold() for name, _ in bound.members))
        held = best.get(key)
        if held is None or (bound.maximum, bound.id) < (held.maximum, held.id):
            best[key] = bound
    return tuple(best.values())


def _of(bounds: Iterable[Limit], basis: Basis) -> tuple[Limit, ...]:
    return tuple(sorted((bound for bound in bounds if bound.basis == basis), key=lambda b: b.id))
