"""What may be right as it is written, but is worth asking about: `check` tells it beside the faults."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from optimiser.domain.worktable import Worktable
from optimiser.errors import OptimiserError
from optimiser.loading.described import COMPOSITION, FLAGS, Described
from optimiser.loading.findings import Findings, shown
from optimiser.loading.ingredients import BLEND
from optimiser.loading.substances import Spelling, Written, alike, known_substances
from optimiser.problems import Problem
from optimiser.workflows.table import open_table

PAPER = re.compile(
    r"\b(supplier|maker|producer|statement|declaration|(data ?)?sheet|certificate|certified|specification|"
    r"letter|paper|analysis|analysed|label|invoice|tested|test report|audit|standard|ISO|doi|by nature|"
    r"common practice)\b|https?://",
    re.IGNORECASE,
)
"""Words for a paper, for who answers for it, or for why it cannot be otherwise."""
DENIED = re.compile(r"\b(no|not|without|never)( an?| any| yet)? \w+|\w+ by nobody", re.IGNORECASE)
"""What is said not to be there counts for nothing."""
SHORTEST_SELLER = 3


def worth_asking(folder: Path, table: Worktable) -> tuple[Problem, ...]:
    """In the order of files and lines; nothing about a table that lies in a workbook."""
    return (*_nearly_alike(folder, table), *_not_borne_out(folder, table))


def _rows(folder: Path, described: Described, *columns: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Line and cells of each row."""
    try:
        sheet = open_table(folder, described).sheet
    except OptimiserError:
        return
    for row in sheet.filled[1:]:
        yield row.line, tuple(sheet.cell(row, name) for name in columns)


def _nearly_alike(folder: Path, table: Worktable) -> Iterable[Problem]:
    """Two substances of the make-up of which one is written with a letter more."""
    findings = Findings(COMPOSITION.file)
    written = [
        Written(name.strip(), line, owner)
        for line, (owner, names) in _rows(folder, COMPOSITION, "ingredient", "substance")
        for name in names.split(BLEND)
        if name.strip()
    ]
    for odd, meant in alike(written, Spelling.of(known_substances(table.substances))):
        fix = f'did you mean "{meant.name}", as on line {meant.line}? If both are right, leave them so'
        findings.add(odd.line, odd.entry, "one spelling of a substance", shown(odd.name), fix, "substance")
    return findings.problems


def _not_borne_out(folder: Path, table: Worktable) -> Iterable[Problem]:
    """Rows that say "free" by a source that names neither a paper nor who sold it."""
    sellers = {one.supplier for one in table.ingredients.values() if len(one.supplier) >= SHORTEST_SELLER}
    findings = Findings(FLAGS.file)
    for line, (owner, flag, state, source) in _rows(folder, FLAGS, "ingredient", "flag", "state", "source"):
        if state == "free" and not _named(source, sellers):
            findings.add(
                line,
                owner,
                f"a paper or a supplier that bears out that it is free of {flag}",
                shown(source),
                "name the paper and whose it is, or write unknown as its state",
                "source",
            )
    return findings.problems


def _named(source: str, sellers: Iterable[str]) -> bool:
    """Whether the source names a paper, or one of those who sell to the folder."""
    said = DENIED.sub("", source)
    return bool(PAPER.search(said)) or any(
        re.search(rf"\b{re.escape(one)}(?!\w)", said, re.IGNORECASE) for one in sellers
    )
