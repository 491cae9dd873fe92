"""Every way a request clashes and every way out, as sentences."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.domain.lists import Clash, Lists, WayOut
from optimiser.domain.request import Request
from optimiser.export.lists_words import said_of
from optimiser.page.views.figures import Figures

MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class ClashShown:
    """`members` may be given up, `always` never is."""

    members: tuple[str, ...]
    always: str
    certified: bool


@dataclass(frozen=True, slots=True)
class WayShown:
    """How far each limit would move, and a formula under it."""

    limits: tuple[str, ...]
    formula: str


@dataclass(frozen=True, slots=True)
class ListsShown:
    """`more` count what was found and is not listed; `said` is how far the lists can be relied on."""

    title: str
    clashes: tuple[ClashShown, ...]
    ways: tuple[WayShown, ...]
    more_clashes: int
    more_ways: int
    said: str


def lists_of(found: Lists, request: Request, figures: Figures) -> ListsShown:
    if found.wish is not None:
        title = f"Your wish clashes: {found.wish.head.sentence}"
    else:
        title = "Every way it clashes" + (" with the numbers as they stand" if found.assumed else "")
    return ListsShown(
        title,
        tuple(_clash(one) for one in found.clashes),
        tuple(_way(one, request, figures) for one in found.ways),
        found.clash_count - len(found.clashes),
        found.way_count - len(found.ways),
        said_of(found),
    )


def _clash(clash: Clash) -> ClashShown:
    named = " ".join(rule.head.sentence for rule in clash.always[:MOST_NAMED])
    rest = len(clash.always) - MOST_NAMED
    return ClashShown(
        tuple(side.words for side in clash.members),
        named + (f" And {rest} more." if rest > 0 else ""),
        clash.certified,
    )


def _way(way: WayOut, request: Request, figures: Figures) -> WayShown:
    limits = way.limits or tuple(side.words for side in way.members)
    if not way.lines:
        return WayShown(limits, "No formula under it was found in whole steps that every other rule accepts.")
    cost = "" if way.cost_per_kg is None else f" {figures.fixed(way.cost_per_kg, 2)} {request.currency}/kg:"
    most = sorted(way.lines, key=lambda line: (-line[1], line[0]))
    known = request.ingredients
    names = [
        f"{known[name].name if name in known else name} {figures.short(share)}\u00a0%" for name, share in most
    ]
    return WayShown(limits, f"Then{cost} {', '.join(names)}.")
