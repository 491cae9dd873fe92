"""`firm:` in a brief, well and badly written."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.firm import Firm
from optimiser.loading.findings import Findings
from optimiser.loading.firm import read_firm
from optimiser.loading.yaml_nodes import read_yaml


def read(folder: Path, text: str) -> tuple[Firm | None, list[str]]:
    file = folder / "brief.yaml"
    file.write_text(text, encoding="utf-8")
    findings = Findings("brief.yaml")
    node = read_yaml(file, findings)
    assert node is not None
    found = read_firm(node.values.get("firm"), "brief", findings, "point")
    return found, [problem.sentence() for problem in findings.problems]


@pytest.mark.parametrize(
    ("text", "firm"),
    [
        ("firm: every\n", Firm()),
        ("firm: {off_at_once: 2}\n", Firm(Fraction(2))),
        ("firm: {off_at_once: 1.5}\n", Firm(Fraction(3, 2))),
        ("firm: {off_at_once: 0}\n", Firm(Fraction(0))),
        ("name: none\n", None),
    ],
)
def test_what_is_meant_is_read(tmp_path: Path, text: str, firm: Firm | None) -> None:
    assert read(tmp_path, text) == (firm, [])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("firm: most\n", "every, or a count such as {off_at_once: 2}"),
        ("firm: [2]\n", "every, or a count"),
        ("firm: {off_at_once: -1}\n", "a count from 0 up"),
        ("firm: {off_at_once: two}\n", "a number"),
        ("firm: {off: 2}\n", "a known key"),
        ("firm: {off_at_once: }\n", "off_at_once: with a value"),
    ],
)
def test_what_is_not_is_told(tmp_path: Path, text: str, said: str) -> None:
    found, problems = read(tmp_path, text)
    assert found is None
    assert any(said in problem for problem in problems), problems
