"""Rows that say "free" by a source that names neither a paper nor who sold it: to be asked about."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from optimiser.domain.worktable import Worktable
from optimiser.errors import OptimiserError
from optimiser.loading.described import FLAGS
from optimiser.loading.findings import Findings, shown
from optimiser.problems import Problem
from optimiser.workflows.table import open_table

PAPER = re.compile(
    r"supplier|maker|producer|statement|declaration|sheet|certificate|specification|letter|paper|analysis|"
    r"label|invoice|test|audit|norm|standard|\bISO\b|https?://|doi|by nature|common practice",
    re.IGNORECASE,
)
"""Words for a paper, for who answers for it, or for why it cannot be otherwise."""


def not_borne_out(folder: Path, table: Worktable) -> tuple[Problem, ...]:
    """One for each row of flags.csv; none where the flags lie in a workbook."""
    try:
        sheet = open_table(folder, FLAGS).sheet
    except OptimiserError:
        return ()
    sellers = {one.supplier for one in table.ingredients.values() if one.supplier}
    findings = Findings(FLAGS.file)
    for row in sheet.filled[1:]:
        state, source = (sheet.cell(row, name) for name in ("state", "source"))
        if state == "free" and not _named(source, sellers):
            findings.add(
                row.line,
                sheet.cell(row, "ingredient"),
                f"a paper or a supplier that bears out that it is free of {sheet.cell(row, 'flag')}",
                shown(source),
                "name the paper and whose it is, or write unknown as its state",
                "source",
            )
    return tuple(findings.problems)


def _named(source: str, sellers: Iterable[str]) -> bool:
    """Whether the source names a paper, or one of those who sell to the folder."""
    text = source.casefold()
    return bool(PAPER.search(source)) or any(one.casefold() in text for one in sellers)
