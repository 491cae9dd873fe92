"""Every session shown in docs/ runs on a fresh machine's folder and prints what the page shows."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.docs.pages import DOCS, name_of, settle
from tests.docs.sessions import blocks_of, commands_in, has_session, masked, replay, trimmed

PAGES = [page for page in sorted(DOCS.rglob("*.md")) if has_session(page.read_text(encoding="utf-8"))]


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_a_session_prints_what_its_page_shows(page: Path, tmp_path: Path, write_docs: bool) -> None:
    old = page.read_text(encoding="utf-8")
    fresh = replay(old, tmp_path)
    settle(page, fresh, old, write_docs, same=masked(fresh) == masked(old))


def test_paragraphs_that_are_not_named_are_left_out_and_marked() -> None:
    lines = ("Why", "  - one", "  - two", "", "Mind", "  - dust", "", "Total", "  - all")
    assert trimmed(lines, "Why:2|Total") == ["Why", "  - one", "…", "Total", "  - all"]
    assert trimmed(lines, "") == list(lines)
    with pytest.raises(AssertionError, match="no paragraph begins with 'Gone'"):
        trimmed(lines, "Why|Gone")


def test_a_block_knows_its_file_its_hint_and_its_commands() -> None:
    page = ["text", "```yaml a/b.yaml append", "x: 1", "```", '<!-- exit=3 show="Why" -->', "```console"]
    page += ["$ one \\", "    more", "output", "$ two", "```"]
    first, second = blocks_of(page)
    assert (first.file, first.append, first.code) == ("a/b.yaml", True, 0)
    assert (second.code, second.show) == (3, "Why")
    assert commands_in(page[second.start : second.end]) == ["one \\\n    more", "two"]


def test_another_exit_code_is_not_overlooked(tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match="left with 2, not 0"):
        replay("```console\n$ optimiser propose nothing --no-such-option\n```\n", tmp_path)
