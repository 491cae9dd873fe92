"""The lists of a request as they are told: clashes with their proofs, ways out with their formulas."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from optimiser.domain.lists import Lists
from optimiser.domain.request import Request
from optimiser.domain.rules import Rule
from optimiser.explain.every import Caps, every_clash, told
from optimiser.explain.every_sides import sides_in
from optimiser.explain.every_ways import way_out
from optimiser.explain.giving import with_ceilings
from optimiser.explain.rest import Rest
from optimiser.solver.interface import Limits

MOST = 6
SECONDS = 30.0


def lists_of(
    request: Request,
    limits: Limits,
    tell: Callable[[str], None],
    *,
    most: int = MOST,
    seconds: float | None = SECONDS,
    wish: Rule | None = None,
    as_it_stands: bool = False,
) -> Lists:
    """Every clash among the musts and every way out, the first `most` of each told.

    With `wish` that wish, missed so far, is held to be a must and told of first. With `as_it_stands` the
    rows are those that the search writes, unsure numbers and all: then nothing is proved impossible.
    """
    if wish is not None:
        firm = replace(wish, head=replace(wish.head, rank=None))
        request = replace(
            request, rules=tuple(firm if r.head.id == wish.head.id else r for r in request.rules)
        )
    tell("listing every clash and every way out")
    rest = Rest(with_ceilings(request), limits, lenient=not as_it_stands)
    sides = sides_in(rest.request, rest.model)
    found = every_clash(sides, Caps(seconds=seconds))
    clashes = [
        told(sides, bits, proof, rest.request.rules) for bits, proof in [*found.clashes.items()][:most]
    ]
    ways = []
    for bits, sure in [*found.ways.items()][:most]:
        tell("making a formula for a way out")
        ways.append(way_out(rest, sides.chosen(bits), sure))
    return Lists(
        tuple(clashes),
        tuple(ways),
        found.complete,
        found.exhausted,
        len(found.clashes),
        len(found.ways),
        found.unsettled,
        wish,
        as_it_stands,
    )
