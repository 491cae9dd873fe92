"""The page on mutation testing: a score a layer, and every survivor with what stands behind it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.layers import NOTICED_BY, ROOT

PAGE = ROOT / "docs" / "explanation" / "mutation.md"
UNKNOWN = "not looked into yet"
EXPLAINED = Path(__file__).parent / "explained.json"
"""`module: the changed line` to why no test notices, for those that nothing could."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: where, which kind, and whether a test noticed (`killed`, `survived`, `incompetent`)."""

    layer: str
    module: str
    operator: str
    line: int
    outcome: str
    diff: str

    @property
    def told(self) -> tuple[str, str]:
        """The line before and after."""
        lines = self.diff.splitlines()
        before = [line[1:].strip() for line in lines if line.startswith("-") and not line.startswith("---")]
        after = [line[1:].strip() for line in lines if line.startswith("+") and not line.startswith("+++")]
        return " ".join(before), " ".join(after)

    @property
    def key(self) -> str:
        return f"{self.module}: {self.told[1]}"


def write_page(mutants: Iterable[Mutant]) -> None:
    """Renews the part of the page between its marks."""
    found = sorted(mutants, key=lambda m: (m.layer, m.module, m.line, m.operator))
    explained: dict[str, str] = (
        json.loads(EXPLAINED.read_text(encoding="utf-8")) if EXPLAINED.exists() else {}
    )
    text = PAGE.read_text(encoding="utf-8")
    start, end = "<!-- mutants -->\n", "<!-- end of mutants -->"
    head, _, rest = text.partition(start)
    tail = rest[rest.index(end) :]
    PAGE.write_text(
        f"{head}{start}\n{_scores(found)}\n\n{_survivors(found, explained)}\n\n{tail}", encoding="utf-8"
    )


def _scores(found: list[Mutant]) -> str:
    rows = ["| Layer | Changes tried | Noticed | Not noticed | Score |", "| --- | --: | --: | --: | --: |"]
    rows += [_score(layer, [one for one in found if one.layer == layer]) for layer in sorted(NOTICED_BY)]
    return "\n".join([*rows, _score("all", found)])


def _score(name: str, found: list[Mutant]) -> str:
    counted = Counter(mutant.outcome for mutant in found)
    lived = counted["survived"]
    share = f"{100 * (len(found) - lived) / len(found):.0f} %" if found else "–"
    return f"| {name} | {len(found)} | {len(found) - lived} | {lived} | {share} |"


def _survivors(found: list[Mutant], explained: dict[str, str]) -> str:
    rows = ["| Where | Was | Became | What stands behind it |", "| --- | --- | --- | --- |"]
    lived = (mutant for mutant in found if mutant.outcome == "survived")
    return "\n".join([*rows, *(_row(mutant, explained.get(mutant.key, UNKNOWN)) for mutant in lived)])


def _row(mutant: Mutant, why: str) -> str:
    was, became = (f"`` {_short(text)} ``" for text in mutant.told)
    return f"| {mutant.module.removeprefix('optimiser/')} | {was} | {became} | {why} |"


def _short(text: str) -> str:
    return text.replace("|", "\\|") if len(text) <= 110 else text[:107].replace("|", "\\|") + "…"
