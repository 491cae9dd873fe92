"""The limits of a linear model one by one: what may be blamed, and the model without some of them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from optimiser.certify.proof import Cases, Split, Term
from optimiser.model.rows import Model, Row, Side, Var

WHOLE = "whole numbers"


@dataclass(frozen=True, slots=True)
class Member:
    """One side of a row, one limit of a variable, or (`whole`) that the variables `vars` are whole."""

    what: Literal["row", "bound", "whole"]
    name: str
    side: Side | Literal[""] = ""
    vars: tuple[str, ...] = ()


Never = Callable[[Model, Member], bool]
"""True for a member that always stays and is never blamed."""


def nothing(_model: Model, _member: Member) -> bool:
    """Every member may be blamed."""
    return False


def rows_of_rules(*rules: str) -> Never:
    """Keeps the rows that came from these rules out of the blame."""

    def never(model: Model, member: Member) -> bool:
        return member.what == "row" and row_named(model, member.name).rule in rules

    return never


def is_named(model: Model, member: Member, name: str) -> bool:
    """Whether the name is the member's own, or that of the rule its row came from."""
    return member.name == name or (member.what == "row" and row_named(model, member.name).rule == name)


def in_order(model: Model, found: Sequence[Member], first: Sequence[str]) -> tuple[Member, ...]:
    """The members with those that `first` names in front, in its order; the others as they were."""

    def place(member: Member) -> int:
        named = (i for i, name in enumerate(first) if is_named(model, member, name))
        return next(named, len(first))

    return tuple(sorted(found, key=place))


def row_named(model: Model, name: str) -> Row:
    return next(row for row in model.rows if row.name == name)


def var_named(model: Model, name: str) -> Var:
    return next(var for var in model.vars if var.name == name)


def members(model: Model, never: Never = nothing) -> tuple[Member, ...]:
    """Every member that may be blamed: row sides, limits of variables, whole numbers; in the file's order.

    The 0 and the 1 of a yes-or-no variable belong to what it is and stay with it.
    """
    return tuple(member for member in _all_members(model) if not never(model, member))


def _all_members(model: Model) -> Iterator[Member]:
    for row in model.rows:
        if row.lower is not None:
            yield Member("row", row.name, "lower")
        if row.upper is not None:
            yield Member("row", row.name, "upper")
    for var in model.vars:
        if var.lower is not None and (var.kind != "B" or var.lower != 0):
            yield Member("bound", var.name, "lower")
        if var.upper is not None and (var.kind != "B" or var.upper != 1):
            yield Member("bound", var.name, "upper")
    if model.whole:
        yield Member("whole", WHOLE, "", model.whole)


def limit_of(model: Model, member: Member) -> Fraction | None:
    """The number of the limit; None for whole numbers and for a side without a limit."""
    if member.what == "whole":
        return None
    item = row_named(model, member.name) if member.what == "row" else var_named(model, member.name)
    return item.lower if member.side == "lower" else item.upper


def without(model: Model, dropped: Collection[Member]) -> Model:
    """The model without these members; rows without limits stay as free rows."""
    gone = {(member.what, member.name, member.side) for member in dropped}
    free = {name for member in dropped for name in member.vars}

    def row(item: Row) -> Row:
        low, high = ("row", item.name, "lower") in gone, ("row", item.name, "upper") in gone
        if not low and not high:
            return item
        return replace(item, lower=None if low else item.lower, upper=None if high else item.upper)

    def var(item: Var) -> Var:
        low, high = ("bound", item.name, "lower") in gone, ("bound", item.name, "upper") in gone
        if not low and not high and item.name not in free:
            return item
        kind = "C" if item.name in free else item.kind
        return replace(
            item,
            lower=None if low else item.lower,
            upper=None if high else item.upper,
            kind="I" if kind == "B" and (low or high) else kind,
        )

    if not gone:
        return model
    return replace(
        model, rows=tuple(row(item) for item in model.rows), vars=tuple(var(item) for item in model.vars)
    )


def moved(model: Model, member: Member, to: Fraction) -> Model:
    """The model with this row side or limit at another number."""

    if member.what == "bound":
        var = var_named(model, member.name)
        low, high = (to, var.upper) if member.side == "lower" else (var.lower, to)
        return model.with_bounds({var.name: (low, high)})
    row = row_named(model, member.name)
    there = replace(row, lower=to) if member.side == "lower" else replace(row, upper=to)
    return replace(model, rows=tuple(there if item is row else item for item in model.rows))


def leaves_with_cases(model: Model, proof: Cases) -> Iterator[tuple[Model, tuple[Term, ...]]]:
    """Each refuted case: the model with the case's own limits, and the terms of its sum."""
    waiting = [(0, model)]
    while waiting:
        place, here = waiting.pop()
        node = proof.nodes[place]
        if isinstance(node, Split):
            waiting.append((node.above, here.tightened(node.var, lower=Fraction(node.at + 1))))
            waiting.append((node.below, here.tightened(node.var, upper=Fraction(node.at))))
        else:
            yield here, node.terms


def used(model: Model, proof: Cases) -> frozenset[Member]:
    """The members a proof rests on; limits that only make a case are none. `whole` names what is split."""
    own = {var.name: var for var in model.vars}
    found: set[Member] = set()
    for here, terms in leaves_with_cases(model, proof):
        case = {var.name: var for var in here.vars}
        for term in terms:
            if term.what == "row":
                found.add(Member("row", term.name, term.side))
            elif getattr(case[term.name], term.side) == getattr(own[term.name], term.side):
                found.add(Member("bound", term.name, term.side))
    if split := split_on(proof):
        found.add(Member("whole", WHOLE, "", split))
    return frozenset(found)


def split_on(proof: Cases) -> tuple[str, ...]:
    """The variables whose whole numbers make the cases, by name."""
    return tuple(sorted({node.var for node in proof.nodes if isinstance(node, Split)}))
