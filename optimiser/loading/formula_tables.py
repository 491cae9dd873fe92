"""Base formulas from CSV or XLSX: columns phase, ingredient, amount."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Place
from optimiser.domain.product import Product
from optimiser.loading.amounts import Sum, Written, read_value
from optimiser.loading.findings import Findings
from optimiser.loading.formulas import Draft, check_twins, settle_drafts, with_lines
from optimiser.loading.names import Reader
from optimiser.loading.tables import Columns, Table

COLUMNS = Columns(("ingredient", "amount"), ("phase",), {"amount": "%|g"})
LoadTable = Callable[[Columns, Findings], Table]


def read_formula_table(
    identifier: str, table: Table, reader: Reader, default_batch_g: Fraction
) -> Formula | None:
    """The formula of a table. It says nothing of the product: the strictest reading counts."""
    before = len(reader.findings.problems)
    lines: dict[str, list[Written]] = {}
    phase = "A"
    for row in table.rows:
        phase = row["phase"] or phase
        written = _line(
            row.line,
            row["ingredient"],
            row["amount"],
            row.cell("ingredient"),
            row.cell("amount"),
            table.units.get("amount", ""),
            reader,
        )
        if written is not None:
            lines.setdefault(phase, []).append(written)
    drafts = tuple(Draft(name, "", tuple(members), ()) for name, members in lines.items())
    for draft in drafts:
        check_twins(draft.name, draft.lines, reader)
    whole = Sum(reader.findings.file, 1, None, normalise=False)
    settled = settle_drafts(drafts, whole, reader, complete=len(reader.findings.problems) == before)
    if settled is None or len(reader.findings.problems) > before:
        return None
    return Formula(
        id=identifier,
        name=identifier.replace("-", " ").capitalize(),
        product=Product(),
        phases=with_lines(drafts, settled.lines),
        batch_g=settled.batch_g or default_batch_g,
        note=settled.note,
        place=Place(reader.findings.file, 1),
    )


def _line(
    line: int, word: str, amount: str, word_cell: str, amount_cell: str, unit: str, reader: Reader
) -> Written | None:
    if not word:
        reader.findings.add(line, "line", "an ingredient", "an empty cell", cell=word_cell)
        return None
    name = reader.ingredient(word, line, "line", word_cell)
    if not amount:
        reader.findings.add(line, word, "an amount", "an empty cell", cell=amount_cell)
        return None
    written = read_value(amount, name or word, line, reader, cell=amount_cell, unit=unit)
    return written if name else None
