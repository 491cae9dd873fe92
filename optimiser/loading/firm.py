"""How firm a brief or a saved proposal asks its rules to be."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.firm import Firm
from optimiser.loading.entries import Entries, describe
from optimiser.loading.findings import Findings
from optimiser.loading.yaml_nodes import Keys, Node, Text
from optimiser.units.numbers import DecimalMark, NumberFault, read_number

EVERY = "every"
EXPECTED = "every, or a count such as {off_at_once: 2}"


def read_firm(node: Node | None, entry: str, findings: Findings, decimal: DecimalMark) -> Firm | None:
    """`every` or `{off_at_once: 2}`; None where nothing stands, or with the problem noted."""
    if node is None or (isinstance(node, Text) and not node.text):
        return None
    if isinstance(node, Text) and node.text == EVERY:
        return Firm()
    if not isinstance(node, Keys):
        findings.add(node.line, f"{entry}, firm", EXPECTED, describe(node), "write firm: every")
        return None
    entries = Entries.of(node, f"{entry}, firm", ("off_at_once",), findings)
    if entries is None:
        return None
    text = entries.text("off_at_once", needed=True)
    found = count_of(text, decimal)
    if isinstance(found, NumberFault):
        if text:
            findings.fault(entries.line("off_at_once"), f"{entry}, firm", found)
        return None
    return Firm(found)


def count_of(text: str, decimal: DecimalMark) -> Fraction | NumberFault:
    """How many numbers may be off at once: nought or more, a part of one too."""
    found = read_number(text, decimal=decimal)
    if isinstance(found, NumberFault):
        return found
    return found if found >= 0 else NumberFault(text, "a count from 0 up")
