"""Every reader of the tool, each with sound files to begin from and a way to give it one file."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl

from optimiser.domain.trials import Planned, Trial
from optimiser.errors import DataError, OptimiserError
from optimiser.loading.batches import read_batch
from optimiser.loading.proposals import read_proposal
from optimiser.loading.readings import read_readings
from optimiser.loading.trials import read_trial
from optimiser.loading.worktable import load_worktable
from optimiser.model.mps import read_mps_file
from optimiser.model.mps_text import write_mps
from optimiser.model.neutral import read_neutral_file, write_neutral
from optimiser.problems import Problem
from tests.models import knapsack, model, row, var
from tests.unit.loading.folders import MASK, SOUND
from tests.workflows.desk import DEMO, demo

F = Fraction
LINES = 14
"""So many lines of a long file of the demo are enough to begin from."""
READING = "trial,day,measure,value,unit,score,ingredient,grams,text,stored_c,cycles\n"
SMALL: Mapping[str, str] = {
    **SOUND,
    "formulas/mask.yaml": MASK,
    "formulas/table.csv": "phase,ingredient,amount\nA,water,to 100 %\nA,kaolin,5 %\n",
    "briefs/b.yaml": "name: B\nleave_out: [{flag: soy}]\ntargets: [{share: {kind: clay}, at_least: 5 %}]\n",
    "composition.csv": "ingredient,substance,share,source\ncitric-acid-20,Citric Acid,20,memory\n",
    "process.csv": "ingredient,stage,add_as,carried_by\nxanthan,slurry,stir,kind:polyol\n",
    "clashes.csv": "id,a,b,when,strength,why,source\nx,kind:gum,kind:acid,ph_low<5,must,Why.,memory\n",
    "shelf.csv": "ingredient,lot,amount,expires\nkaolin,K,8 g,2027-01-01\n",
    "learned.csv": "date,ingredient,lot,property,value,low,high,unit,source\n"
    "2026-11-20,kaolin,K,water_uptake,0.5,0.4,0.6,g/g,trial mask-1\n",
    "costs.yaml": "labour: {per_hour: 18.00 EUR}\n",
}
TRIAL = """\
format: 1
trial: serum-1
formula: serum
opened: 2026-11-20
batch: 250 g
lines:
- {phase: A, ingredient: water, grams: 250 g}
entries:
- {n: 1, day: 2026-11-21, what: weighed, ingredient: water, grams: 249.8 g}
- {n: 2, day: 2026-11-21, what: felt, measure: softness, value: 7}
"""
BATCH = """\
format: 1
batch: 2611-01
formula: mask
made: 2026-11-20
grams: 2000 g
lots:
- {ingredient: kaolin, lot: K, grams: 400 g}
entries:
- {n: 1, day: 2026-11-21, what: filled, jars: 18, holds: 100 g}
- {n: 2, day: 2026-11-22, what: released, who: Wren}
"""
PROPOSAL = """\
format: '1'
name: Sunflower cleansing balm · without coconut-mct
heading: Proposal
formula: sunflower-balm
briefs: []
options:
  leave_out:
  - ingredient:coconut-mct
  instead_of: []
  only_from: ''
  aim: []
  bare: 'no'
batch: 250 g
phases:
- phase: A
  lines:
  - sunflower-oil: to 100 %
  - shea-butter: 12 %
  - beeswax: 7 %
- phase: B
  lines:
  - vitamin-e: 0.5 %
provenance:
  version: 0.1.0
  table: '30'
  request: e8
  solvers: HiGHS 1.16.0
"""
MODEL = model(
    "min", {"x": "0.1"}, [var("x", 0, 9), var("y", 1, 4, "I")], [row("r", {"x": 1, "y": "-2.5"}, -1, 3)], 2
)

Given = Callable[["Bench", str, bytes], None]


@dataclass(slots=True)
class Bench:
    """A small sound folder in `place`, and what is open while it is attacked."""

    place: Path
    table: Path = field(init=False)
    stack: ExitStack = field(default_factory=ExitStack)
    page: Any = None

    def __post_init__(self) -> None:
        self.table = self.place / "table"
        for name, text in SMALL.items():
            self.put(name, text.encode())

    def put(self, name: str, data: bytes) -> Path:
        path = self.table / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        return path


@dataclass(frozen=True, slots=True)
class Reader:
    """`seeds` gives sound files by name; `given` reads one file and returns, whatever stands in it."""

    name: str
    seeds: Callable[[], Mapping[str, bytes]]
    given: Given


def all_printable(problems: tuple[Problem, ...] | list[Problem]) -> None:
    """Every problem makes a sentence of one line that a terminal can show."""
    for problem in problems:
        sentence = problem.sentence()
        assert sentence.encode("utf-8")
        assert not {"\x1b", "\x00", "\u202e", "\n"} & set(sentence), ascii(sentence)


def _in_the_folder(bench: Bench, name: str, data: bytes) -> None:
    """The file in the place of its like, the whole folder read."""
    path = bench.table / name
    twins = [one for one in path.parent.glob(f"{path.stem}.*") if one != path]
    before = {one: one.read_bytes() for one in (*twins, path) if one.exists()}
    for twin in twins:
        twin.unlink()
    bench.put(name, data)
    try:
        table, problems = load_worktable(bench.table)
        assert (table is None) == bool(problems)
        all_printable(problems)
    finally:
        path.unlink()
        for one, text in before.items():
            one.write_bytes(text)


def _by_itself(read: Callable[[Path], tuple[object, tuple[Problem, ...]]]) -> Given:
    def given(bench: Bench, name: str, data: bytes) -> None:
        path = bench.place / name
        path.write_bytes(data)
        found, problems = read(path)
        assert (found is None) == bool(problems)
        all_printable(problems)

    return given


def _readings(bench: Bench, name: str, data: bytes) -> None:
    path = bench.place / name
    path.write_bytes(data)
    trials = {
        "serum-1": Trial("serum-1", "serum", date(2026, 11, 20), F(250), (Planned("A", "water", F(250)),))
    }
    found = read_readings(path, trials, "point", {"water": "water"}.get)
    assert found.entries or found.problems
    all_printable(found.problems)


def _uploaded(bench: Bench, name: str, data: bytes) -> None:
    """Sent to the page as a browser would, and looked at: no answer is a fault of the page."""
    client, form = _page(bench)
    sent = {"file": (name, data)}
    for to in ("/readings", "/ingredients/bring"):
        answer = client.post(to, data={"token": form}, files=sent)
        assert answer.status_code < 500, answer.status_code


def _page(bench: Bench) -> Any:
    if bench.page is None:
        from starlette.testclient import TestClient

        from optimiser.page.app import make_app
        from optimiser.page.desk import Desk
        from optimiser.page.guard import Keys
        from optimiser.page.work import Work

        keys, work = Keys(frozenset({"127.0.0.1:4321"})), Work(bench.table)
        bench.stack.callback(work.close)
        application = make_app(Desk(bench.table), work, keys)
        client = bench.stack.enter_context(TestClient(application, base_url="http://127.0.0.1:4321"))
        client.cookies.set(keys.cookie, keys.key)
        bench.page = client, keys.form
    return bench.page


def _beginnings(*endings: str) -> dict[str, bytes]:
    """The first lines of the demo's files with such an ending, and the small folder's files whole."""
    found = {name: text.encode() for name, text in SMALL.items() if name.endswith(endings)}
    for path in sorted(DEMO.rglob("*")):
        name = path.relative_to(DEMO).as_posix()
        if path.name.endswith(endings) and "__pycache__" not in name:
            text = path.read_text(encoding="utf-8").splitlines(keepends=True)
            kept = text if path.suffix == ".yaml" else text[:LINES]
            found[f"{name}#demo"] = "".join(kept).encode()
    return found


def workbook_of(text: str) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for line in text.splitlines():
        sheet.append(
            [float(cell) if cell.replace(".", "", 1).isdigit() else cell for cell in line.split(",")]
        )
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _books() -> dict[str, bytes]:
    tables = {name: text for name, text in SMALL.items() if name.endswith(".csv")}
    return {name.replace(".csv", ".xlsx"): workbook_of(text) for name, text in tables.items()}


ROWS = f"{READING}serum-1,2026-11-21,ph,5.2,,,,,,,\nserum-1,2026-11-22,softness,,,7,,,soft,,\n"


def _models(write: Callable[[Any], str], ending: str) -> Callable[[], dict[str, bytes]]:
    return lambda: {
        f"model{ending}": write(MODEL).encode(),
        f"model{ending}#knapsack": write(knapsack(1, 6, 2)).encode(),
    }


READERS = {
    one.name: one
    for one in (
        Reader("csv", lambda: _beginnings(".csv"), _in_the_folder),
        Reader("xlsx", _books, _in_the_folder),
        Reader("yaml", lambda: _beginnings(".yaml"), _in_the_folder),
        Reader("json", _models(write_neutral, ".json"), _by_itself(read_neutral_file)),
        Reader("mps", _models(write_mps, ".mps"), _by_itself(read_mps_file)),
        Reader(
            "readings",
            lambda: {"readings.csv": ROWS.encode(), "readings.xlsx": workbook_of(ROWS)},
            _readings,
        ),
        Reader("trials", lambda: {"serum-1.yaml": TRIAL.encode()}, _by_itself(read_trial)),
        Reader("batches", lambda: {"2611-01.yaml": BATCH.encode()}, _by_itself(read_batch)),
        Reader(
            "proposals",
            lambda: {"balm.yaml": PROPOSAL.encode()},
            _by_itself(lambda path: read_proposal(path, demo().worktable, demo().vocabulary)),
        ),
        Reader(
            "upload",
            lambda: {
                "readings.csv": ROWS.encode(),
                "ingredients.csv": SMALL["ingredients.csv"].encode(),
                "readings.xlsx": workbook_of(ROWS),
            },
            _uploaded,
        ),
    )
}


@cache
def seeds(reader: str) -> Mapping[str, bytes]:
    return READERS[reader].seeds()


def give(bench: Bench, reader: str, name: str, data: bytes) -> None:
    """One file to one reader; the tool's own refusals are answers."""
    try:
        READERS[reader].given(bench, name.partition("#")[0], data)
    except DataError as fault:
        all_printable([one for one in fault.problems if isinstance(one, Problem)])
    except OptimiserError as fault:
        if not str(fault):
            raise
