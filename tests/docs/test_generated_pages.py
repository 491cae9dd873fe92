"""Generated parts of the reference pages are up to date, and the hand-written ones name every word."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields
from pathlib import Path

import pytest

from optimiser.cli.funnel import DATA, FOUND, IMPOSSIBLE, UNDECIDED, USAGE
from optimiser.domain.brief import AIMS
from optimiser.domain.request import GRID, Weights
from optimiser.domain.rules import MICROBES
from optimiser.loading import (
    briefs,
    clashes,
    composition,
    flags,
    formula_tables,
    formulas,
    ingredients,
    process,
    products,
    properties,
    rules,
    settings,
    shelf,
    spans,
    substances,
)
from optimiser.loading.tables import Columns
from optimiser.search.stages import HOLD
from tests.docs.generated import PARTS, has_parts, renewed
from tests.docs.pages import DOCS, all_pages, name_of, settle

PAGES = [page for page in all_pages() if has_parts(page)]
TABLES: dict[str, Columns] = {
    "ingredients.csv": ingredients.COLUMNS,
    "flags.csv": flags.COLUMNS,
    "properties.csv": properties.COLUMNS,
    "composition.csv": composition.COLUMNS,
    "process.csv": process.COLUMNS,
    "clashes.csv": clashes.COLUMNS,
    "shelf.csv": shelf.COLUMNS,
    "substances.csv": substances.COLUMNS,
    "formulas/*.csv": formula_tables.COLUMNS,
}


def section(page: str, heading: str) -> str:
    """The text under the heading (of any level) up to the next one of its level."""
    text = (DOCS / page).read_text(encoding="utf-8")
    found = re.search(rf"^(#+) {re.escape(heading)}$", text, re.MULTILINE)
    assert found, f"{page} has no heading {heading}"
    rest = text[found.end() :]
    following = re.search(rf"^#{{1,{len(found[1])}}} ", rest, re.MULTILINE)
    return rest[: following.start()] if following else rest


def missing(words: Iterable[str], text: str) -> list[str]:
    """Words that stand neither in code marks nor in a fenced block."""
    fenced = re.findall(r"```.*?```", text, re.DOTALL)
    inline = re.findall(r"`[^`\n]+`", re.sub(r"```.*?```", "", text, flags=re.DOTALL))
    said = set(re.findall(r"[a-z0-9_-]+", " ".join([*fenced, *inline]).casefold()))
    return sorted({word.casefold() for word in words} - said)


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_generated_parts_are_up_to_date(page: Path, write_docs: bool) -> None:
    old = page.read_text(encoding="utf-8")
    fresh = renewed(old)
    settle(page, fresh, old, write_docs, same=fresh == old)


def test_every_generated_part_has_a_page() -> None:
    shown = "".join(page.read_text(encoding="utf-8") for page in PAGES)
    assert [name for name in PARTS if f"<!-- generated: {name} -->" not in shown] == []


@pytest.mark.parametrize("file", TABLES)
def test_every_column_is_explained(file: str) -> None:
    assert missing(TABLES[file].names, section("reference/worktable.md", file)) == []


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("worktable.yaml", settings.KEYS),
        ("formulas/*.yaml", (*formulas.KEYS, *products.FACTS)),
        ("briefs/*.yaml", briefs.KEYS),
        ("clashes.csv", (*clashes.WORDS, *clashes.NUMBERS, *clashes.STRENGTHS)),
        ("flags.csv", flags.STATES),
        ("ingredients.csv", ingredients.FORMS),
    ],
)
def test_every_key_of_a_file_is_explained(heading: str, words: tuple[str, ...]) -> None:
    assert missing(words, section("reference/worktable.md", heading)) == []


def test_every_beginning_of_a_source_is_explained() -> None:
    text = section("reference/worktable.md", "properties.csv")
    assert [start for start, _ in properties.SOURCES if f"`{start}" not in text] == []


def test_rules_page_names_every_topic_limit_selector_and_aim() -> None:
    text = (DOCS / "reference" / "rules.md").read_text(encoding="utf-8")
    words = (*rules.TOPICS, "keep", *spans.LIMITS, *rules.COMMON, *MICROBES, *briefs.SELECTORS, *AIMS)
    assert missing(words, text) == []
    for topic in rules.TOPICS:
        assert section("reference/rules.md", topic).strip()


def test_exit_codes_page_names_every_code() -> None:
    text = (DOCS / "reference" / "exit-codes.md").read_text(encoding="utf-8")
    assert [code for code in (FOUND, DATA, USAGE, IMPOSSIBLE, UNDECIDED) if f"| {code} |" not in text] == []


def test_design_page_gives_the_weights_of_departure() -> None:
    text = (DOCS / "explanation" / "design.md").read_text(encoding="utf-8")
    weights = Weights()
    for part in fields(weights):
        row = rf"^\| `{part.name}` \| {re.escape(str(getattr(weights, part.name)))} \|"
        assert re.search(row, text, re.MULTILINE), part.name


def test_design_page_names_the_slack_between_stages_and_the_grid() -> None:
    text = (DOCS / "explanation" / "design.md").read_text(encoding="utf-8")
    assert f"{float(HOLD):.6f}" in text
    assert f"{float(GRID)} %" in text
