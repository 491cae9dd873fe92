"""How far the lists of clashes and ways out can be relied on, in words."""

from __future__ import annotations

from optimiser.domain.lists import Lists


def said_of(found: Lists) -> str:
    """How far the lists can be relied on, in one sentence."""
    if found.assumed:
        more = "" if found.exhausted else " There may be more."
        return (
            "They are those of the numbers as they stand. Some of these nobody looked up: with others that "
            f"are as likely it may be possible as asked, so nothing is proved impossible.{more}"
        )
    if found.complete:
        return (
            "These are all there are, proved in exact fractions: each way out gives up something of every "
            "clash, and nothing smaller does."
        )
    if found.exhausted:
        return "The solver finds no more; not every one could be proved in exact fractions."
    return f"The first {found.clash_count} and {found.way_count} found: there may be more."
