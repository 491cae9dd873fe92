"""Where pages lie, and how one is brought up to date."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
EXAMPLES = ROOT / "examples"
HOW = "run: python -m pytest tests/docs --write-docs"


def all_pages() -> list[Path]:
    """Every page of docs/, sorted, the README first."""
    return [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def settle(path: Path, fresh: str, old: str, write: bool, same: bool, how: str = HOW) -> None:
    """Writes `fresh` when asked to, else fails where it differs and says `how` to renew it."""
    if same:
        return
    if write:
        path.write_text(fresh, encoding="utf-8")
        return
    pairs = zip(old.splitlines(), fresh.splitlines(), strict=False)
    at = next((n for n, (a, b) in enumerate(pairs, 1) if a != b), min(old.count("\n"), fresh.count("\n")) + 1)
    lines = fresh.splitlines()
    now = lines[at - 1] if at <= len(lines) else "nothing"
    pytest.fail(f"{name_of(path)}:{at} is out of date: now it would read\n  {now}\n{how}")
