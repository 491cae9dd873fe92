"""The page on mutation testing: a score a layer, and every survivor with what stands behind it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.layers import ROOT

PAGE = ROOT / "docs" / "explanation" / "mutation.md"
UNKNOWN = "not looked into yet"
EXPLAINED = Path(__file__).parent / "explained.json"
"""The key of a change to why no test notices it, for those that nothing could."""
NOTICED, SURVIVED, TIMEOUT, BROKEN, GONE = "noticed", "survived", "endless", "broken", "gone"
"""What came of a change: a test failed; none did; the tests never ended; it could not be tried; the code is
no longer there."""
START, END = "<!-- mutants -->\n", "<!-- end of mutants -->"


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: where, what came of it at first, and when tried `again` after tests were added."""

    job: str
    layer: str
    module: str
    function: str
    line: int
    first: str
    now: str | None
    diff: str

    @property
    def outcome(self) -> str:
        return self.now or self.first

    @property
    def told(self) -> tuple[str, str]:
        """The lines before and after."""
        lines = self.diff.splitlines()
        before = [line[1:].strip() for line in lines if line.startswith("-") and not line.startswith("---")]
        after = [line[1:].strip() for line in lines if line.startswith("+") and not line.startswith("+++")]
        return " ".join(before), " ".join(after)

    @property
    def key(self) -> str:
        where = f"{self.module} {self.function}".strip()
        return f"{where}: {self.told[1]}"


@dataclass(frozen=True, slots=True)
class Sample:
    """The changes tried in a layer, of how many `possible` ones, drawn with which seed."""

    layer: str
    possible: int | None
    seed: int | None
    mutants: tuple[Mutant, ...]


def outcome_of(worker: str, test: str | None, output: str) -> str:
    """What came of a change, from what was kept of it."""
    if worker != "NORMAL" or test in {None, "INCOMPETENT"}:
        return BROKEN
    if test == "SURVIVED":
        return SURVIVED
    return TIMEOUT if output.strip() == "timeout" else NOTICED


def explanations() -> dict[str, str]:
    found: dict[str, str] = json.loads(EXPLAINED.read_text(encoding="utf-8"))
    return found


def write_page(drawn: Iterable[Sequence[Sample]]) -> None:
    """Renews the part of the page between its marks: a table of scores for each time a sample was drawn."""
    every = [samples for samples in drawn if samples]
    text = PAGE.read_text(encoding="utf-8")
    head, _, rest = text.partition(START)
    tail = rest[rest.index(END) :]
    tables = (f"{_drawn(samples)}\n\n{scores(samples)}" for samples in every)
    lived = survivors([one for samples in every for one in samples], explanations())
    body = "\n\n".join([*tables, f"What goes unnoticed now:\n\n{lived}"])
    PAGE.write_text(f"{head}{START}\n{body}\n\n{tail}", encoding="utf-8")


def _drawn(samples: Sequence[Sample]) -> str:
    seeds = sorted({str(one.seed) for one in samples})
    return f"Drawn with seed {', '.join(seeds)}:"


def scores(samples: Sequence[Sample]) -> str:
    rows = [
        "| Layer | Possible | Tried | Unnoticed at first | Score at first | Unnoticed now | Score now |",
        "| --- | --: | --: | --: | --: | --: | --: |",
        *(_score(one.layer, str(one.possible or "?"), one.mutants) for one in samples),
    ]
    every = [mutant for one in samples for mutant in one.mutants]
    possible = sum(one.possible or 0 for one in samples)
    return "\n".join([*rows, _score("all", str(possible), every)])


def _score(name: str, possible: str, mutants: Sequence[Mutant]) -> str:
    first = Counter(mutant.first for mutant in mutants)
    now = Counter(mutant.outcome for mutant in mutants)
    tried = len(mutants) - first[BROKEN]
    cells = [
        name,
        possible,
        str(tried),
        str(first[SURVIVED]),
        _share(tried - first[SURVIVED], tried),
        str(now[SURVIVED]),
        _share(tried - now[SURVIVED] - now[GONE], tried - now[GONE]),
    ]
    return f"| {' | '.join(cells)} |"


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.0f} %" if whole else "–"


def survivors(samples: Sequence[Sample], explained: Mapping[str, str]) -> str:
    """A row for each change that no test notices now; alike ones share what stands behind them."""
    rows = ["| Where | Was | Became | What stands behind it |", "| --- | --- | --- | --- |"]
    lived = [mutant for one in samples for mutant in one.mutants if mutant.outcome == SURVIVED]
    ordered = sorted(lived, key=lambda mutant: (mutant.module, mutant.line, mutant.key))
    return "\n".join([*rows, *(_row(mutant, why_of(mutant, ordered, explained)) for mutant in ordered)])


def why_of(mutant: Mutant, lived: Sequence[Mutant], explained: Mapping[str, str]) -> str:
    """What stands behind it; a key that two different places share explains neither."""
    places = {one.diff for one in lived if one.key == mutant.key}
    return explained.get(mutant.key, UNKNOWN) if len(places) == 1 else UNKNOWN


def _row(mutant: Mutant, why: str) -> str:
    was, became = (f"`` {_cell(text)} ``" for text in mutant.told)
    where = mutant.module.removeprefix("optimiser/").removesuffix(".py")
    place = f"{where}, {mutant.function}" if mutant.function else where
    return f"| {_cell(place)} | {was} | {became} | {why} |"


def _cell(text: str) -> str:
    """At most 110 signs, none of which ends the cell."""
    short = text if len(text) <= 110 else text[:107] + "…"
    return short.replace("|", "\\|")
