"""A request in which fewer ingredients may come new."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from optimiser.domain.request import Request
from optimiser.domain.rules import UseRange


def new_only_from(request: Request, allowed: Collection[str]) -> Request:
    """The request without the newcomers that are not `allowed`, as if the worktable did not have them."""
    gone = request.newcomers - set(allowed)
    if not gone:
        return request
    return replace(
        request,
        ingredients={name: one for name, one in request.ingredients.items() if name not in gone},
        slots=tuple(slot for slot in request.slots if slot.ingredient not in gone),
        dosed={slot: how for slot, how in request.dosed.items() if slot.ingredient not in gone},
        newcomers=request.newcomers - gone,
        rules=tuple(r for r in request.rules if not (isinstance(r, UseRange) and r.ingredient in gone)),
    )
