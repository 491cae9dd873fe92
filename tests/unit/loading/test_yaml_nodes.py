"""YAML: every scalar stays text, with its line; what hides or multiplies is refused."""

from __future__ import annotations

import pytest

from optimiser.loading.findings import Findings
from optimiser.loading.yaml_nodes import Items, Keys, Text, parse_yaml
from optimiser.problems import Problem


def parse(text: str) -> tuple[Keys | None, list[Problem]]:
    findings = Findings("a.yaml")
    return parse_yaml(text, findings), findings.problems


@pytest.mark.parametrize(
    "word", ["no", "NO", "12:30", "1e-3", "007", "2026-11-01", "null", "~", "0x10", "1_000", ".inf"]
)
def test_scalars_stay_text(word: str) -> None:
    node, problems = parse(f"a: {word}\n")
    assert problems == []
    assert node is not None
    assert node.values["a"] == Text(word, 1)


def test_nodes_know_their_lines() -> None:
    node, _ = parse("a: 1\nb:\n  - x\n  - {c: 2}\n")
    assert node is not None
    assert node.lines == {"a": 1, "b": 2}
    items = node.values["b"]
    assert isinstance(items, Items)
    assert [item.line for item in items.items] == [3, 4]


def test_duplicate_keys_are_refused_with_both_lines() -> None:
    _, (problem,) = parse("a: 1\nb: 2\na: 3\n")
    assert (problem.line, problem.found) == (3, "it a second time (first on line 1)")


def test_an_alias_counts_in_full() -> None:
    bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n"
    for last, name in zip("abcdefg", "bcdefgh", strict=True):
        bomb += f"{name}: &{name} [{', '.join([f'*{last}'] * 9)}]\n"
    node, (problem,) = parse(bomb)
    assert node is None
    assert "aliases counted" in problem.expected


def test_a_plain_alias_is_read() -> None:
    node, problems = parse("a: &x [1]\nb: *x\n")
    assert problems == []
    assert node is not None
    assert node.values["a"] == node.values["b"]


@pytest.mark.parametrize(
    ("text", "line", "expected"),
    [
        ("a: &x [*x]\n", 1, "an alias of something above"),
        ("a: " + "[" * 40 + "]" * 40, 1, "at most 30 levels"),
        ("a: " + "[" * 5000, 1, "YAML"),
        ("a: !!python/object/apply:os.system [ls]\n", 1, "plain YAML"),
        ("a: 1\n---\nb: 2\n", 2, "one document"),
        ("a: [1\nb: 2\n", 2, "YAML"),
        ("a: b: c\n", 1, "YAML"),
        ("\ta: 1\n", 1, "YAML"),
        ("- a\n", 1, 'entries such as "name: …"'),
        ("", 1, 'entries such as "name: …"'),
        ("a: x\u202ey\n", 1, "text without invisible characters"),
        ("? [a]\n: b\n", 1, "a word before the colon"),
    ],
)
def test_refuses(text: str, line: int, expected: str) -> None:
    _, problems = parse(text)
    assert [(problem.line, problem.expected) for problem in problems] == [(line, expected)]
