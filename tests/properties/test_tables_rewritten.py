"""Whatever is written into the tables, all other rows keep their bytes, and taking back restores all."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from optimiser.domain.changes import Wish
from optimiser.errors import OptimiserError
from optimiser.loading.described import INGREDIENTS, OWNED, Described
from optimiser.workflows.table import TableFile, open_table, plan, take_back, write
from tests.effort import tries
from tests.unit.loading.folders import MASK, SOUND
from tests.unit.loading.folders import write as put

TEXTS = st.sampled_from(
    [
        "",
        "1",
        "99",
        "0.5",
        "palm",
        "free",
        "unknown",
        "contains",
        "supplier: a sheet",
        "assumed",
        "%",
        "g/ml",
        "a, b; c",
        'said "so"',
        "=1+1",
        "Ümlaut",
        "500 g",
        "2026-11-01",
        "solids",
        "kaolin",
        "water",
        "line\nline",
    ]
)
WHOLE = {
    "ingredients": {"id": "new-oil", "name": "New oil", "inci": "Oleum", "kind": "oil"},
    "flags": {"flag": "soy", "state": "unknown"},
    "properties": {"property": "oil_uptake", "value": "1", "unit": "g/g", "source": "assumed"},
    "composition": {"substance": "Glycerin", "share": "20", "source": "supplier: a sheet"},
    "process": {"stage": "powder", "add_as": "sieve in"},
    "shelf": {"lot": "A-1", "amount": "500 g"},
}
"""A row that can be added to each table."""
TABLES = (*OWNED.values(), INGREDIENTS)
STEPS = st.lists(
    st.tuples(
        st.sampled_from(TABLES),
        st.sampled_from(["edit", "add", "remove"]),
        st.integers(0, 9),
        st.lists(st.tuples(st.integers(0, 9), TEXTS), max_size=3),
    ),
    min_size=1,
    max_size=5,
)
ENDS = st.sampled_from(["\n", "\r\n"])


def folder(place: Path, end: str, mark: str, last: str) -> Path:
    """The sound folder with these line ends, this mark before each table and this end of it."""
    odd = {
        name: mark + text.removesuffix("\n").replace("\n", end) + last
        for name, text in SOUND.items()
        if name.endswith(".csv")
    }
    return put(place, {**odd, "formulas/mask.yaml": MASK})


def files(place: Path) -> Mapping[str, bytes]:
    return {one.name: one.read_bytes() for one in place.glob("*.*") if not one.name.startswith(".lock")}


def wish_of(table: TableFile, kind: str, nth: int, cells: list[tuple[int, str]]) -> Wish | None:
    names = [name for name in table.described.columns.names if name != "ingredient"]
    said = {names[place % len(names)]: text for place, text in cells}
    rows = list(table.rows)
    if kind == "add":
        owner = (
            {}
            if table.described is INGREDIENTS
            else {"ingredient": ("kaolin", "water", "rose-clay")[nth % 3]}
        )
        return Wish("", {}, {**owner, **WHOLE[table.described.name], **said}, fresh=True)
    if not rows:
        return None
    return Wish(rows[nth % len(rows)], said, gone=kind == "remove")


def others_stand(table: TableFile, wish: Wish, after: TableFile) -> None:
    """Every row but the one named stands as it did, byte for byte, in the same order."""
    sheet = table.sheet
    kept = [sheet.text[row.start : row.end] for name, row in table.rows.items() if name != wish.name]
    now = [after.sheet.text[row.start : row.end] for row in after.sheet.rows]
    if not wish.gone and not wish.fresh:
        del now[list(table.rows).index(wish.name)]
    assert now[: len(kept)] == kept


def step(
    place: Path, described: Described, kind: str, nth: int, cells: list[tuple[int, str]]
) -> list[object]:
    """What was written, as a list of one plan or none."""
    table = open_table(place, described)
    wish = wish_of(table, kind, nth, cells)
    if wish is None:
        return []
    before = files(place)
    try:
        planned = plan(place, [wish], (), described)
    except OptimiserError:
        planned = None
    if planned is None or planned.problems or not planned.files:
        assert files(place) == before
        return []
    write(place, planned)
    if set(table.sheet.columns) == set((after := open_table(place, described)).sheet.columns):
        others_stand(table, wish, after)
    return [planned]


@given(steps=STEPS, end=ENDS, mark=st.sampled_from(["", "\ufeff"]), last=st.sampled_from(["", "\n", "\n\n"]))
@tries(40)
def test_a_round_of_changes_and_taking_them_back_restores_every_byte(
    steps: list[tuple[Described, str, int, list[tuple[int, str]]]], end: str, mark: str, last: str
) -> None:
    with tempfile.TemporaryDirectory() as place:
        bench = folder(Path(place), end, mark, last)
        before = files(bench)
        done = [planned for one in steps for planned in step(bench, *one)]
        for planned in reversed(done):
            take_back(bench, planned, ())  # type: ignore[arg-type]
        assert files(bench) == before
