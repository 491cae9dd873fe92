"""Sets that meet every set of a family; sets are whole numbers whose bits are the members."""

from __future__ import annotations

from collections.abc import Sequence

MOST_STEPS = 500_000


class TooManyError(Exception):
    """The search was stopped before it had seen everything."""


def smallest_new(
    family: Sequence[int], known: Sequence[int], size: int, steps: int = MOST_STEPS
) -> int | None:
    """A smallest set that meets every set of `family` and holds none of `known`; None when there is none.

    `size`: nothing smaller than that needs to be looked for. Of equals, the one made of the first bits.
    Raises TooManyError past `steps` steps.
    """
    if 0 in known:
        return None
    for limit in range(size, len(family) + 1):
        search = _Search(known, limit, steps)
        found = search.grow(0, 0, list(family), 0)
        if found is not None or not search.cut:
            return found
    return None


class _Search:
    def __init__(self, known: Sequence[int], limit: int, steps: int) -> None:
        self.known, self.limit, self.left = known, limit, steps
        self.cut = False

    def grow(self, picked: int, barred: int, open_sets: list[int], size: int) -> int | None:
        """Depth first: the open set with the fewest ways on, each way tried once."""
        self.left -= 1
        if self.left < 0:
            raise TooManyError
        if not open_sets:
            return picked
        if size == self.limit:
            self.cut = True
            return None
        ways = min((item & ~barred for item in open_sets), key=lambda bits: (bits.bit_count(), bits))
        while ways:
            bit = ways & -ways
            ways ^= bit
            now = picked | bit
            if not any(other & bit and not other & ~now for other in self.known):
                rest = [item for item in open_sets if not item & bit]
                found = self.grow(now, barred, rest, size + 1)
                if found is not None:
                    return found
            barred |= bit
        return None


def meet_minimally(one: Sequence[int], other: Sequence[int]) -> bool:
    """Whether each set of `one` meets every set of `other`, and no member of it could be spared."""
    for item in one:
        if any(not item & met for met in other):
            return False
        sole = 0
        for met in other:
            common = item & met
            if common & (common - 1) == 0:
                sole |= common
        if item & ~sole:
            return False
    return True


def are_dual(one: Sequence[int], other: Sequence[int], steps: int = MOST_STEPS) -> bool:
    """Whether the sets of `other` are all the minimal sets that meet every set of `one`, and the other way.

    Two families that meet minimally both ways are dual as soon as nothing else meets the first one.
    Raises TooManyError when that could not be settled.
    """
    if not meet_minimally(one, other) or not meet_minimally(other, one):
        return False
    return smallest_new(one, other, 0, steps) is None
