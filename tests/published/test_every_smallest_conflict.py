"""Small yes-or-no systems of which every smallest conflict and every smallest repair is known.

M. H. Liffiton, K. A. Sakallah, "Algorithms for Computing Minimal Unsatisfiable Subsets of Constraints",
Journal of Automated Reasoning 40 (2008) 1-33; the at-most-one and parity examples of PySAT; the
preference example of CPMpy.
"""

from __future__ import annotations

import pytest

from tests.published.core import clashing_rows, load, smallest_repairs, soft_rows

SYSTEMS = {
    "liffiton_sakallah6": "C1 C2|C1 C3 C4|C1 C5 C6",
    "pysat_at_most_one3": "C1 C2|C1 C3|C2 C3",
    "pysat_xor4": "C1 C2 C3 C4",
    "cpmpy_quickxplain_abcd": "C1 C2 C3|C2 C4",
}
REPAIRS = {
    "liffiton_sakallah6": "C1|C2 C3 C5|C2 C3 C6|C2 C4 C5|C2 C4 C6",
    "pysat_at_most_one3": "C1 C2|C1 C3|C2 C3",
}


def sets(text: str) -> set[tuple[str, ...]]:
    return {tuple(part.split()) for part in text.split("|")}


@pytest.mark.parametrize("name", sorted(SYSTEMS))
def test_every_published_conflict_is_found_and_no_other(name: str) -> None:
    """Published sets, compared as they are; each refusal is a proof by cases in whole numbers."""
    assert set(clashing_rows(load(name))) == sets(SYSTEMS[name])


@pytest.mark.parametrize("name", sorted(REPAIRS))
def test_every_published_repair_follows(name: str) -> None:
    model = load(name)
    found = smallest_repairs(soft_rows(model), clashing_rows(model))
    assert set(found) == sets(REPAIRS[name])
