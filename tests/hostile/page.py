"""The figures of the long runs, as tables in docs/explanation/hostile-ground.md.

`python -m tests.hostile.page --requests KEPT ... --attacks FILE ...` takes what `two_solvers --kept` and
`fuzz` wrote, keeps the sums under tests/data/hostile_ground and writes the page's tables anew.
"""

from __future__ import annotations

import argparse
import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from tests.benchmarks.two_solvers import kept_in, summed_up

ROOT = Path(__file__).parents[2]
FIGURES = ROOT / "tests" / "data" / "hostile_ground"
PAGE = ROOT / "docs" / "explanation" / "hostile-ground.md"
ASKED, ATTACKED = "requests", "attacks"
ENDS = {"proposal": "a proposal", "impossible": "impossible, with a proof", "undecided": "undecided"}
OPENS = {
    "outside what can be predicted": "what trials taught does not reach so far",
    "impossible with the assumed": "turns on numbers that nobody looked up",
    "possible in theory": "possible between the steps of 0.001 % only, as far as was found",
    "the prediction of": "a prediction bends and no settled formula was found",
    "what can be predicted": "rows for predictions are stricter than the proof allows",
    "the conflict could not": "impossible to the solvers, the conflict not shown minimal",
    "the solver": "a solver gave up",
}
"""How the reasons of an undecided answer begin, and what they come to."""


def marks(name: str) -> tuple[str, str]:
    return f"<!-- {name}: written by python -m tests.hostile.page -->", f"<!-- end of {name} -->"


def _table(head: tuple[str, ...], rows: Iterable[tuple[object, ...]]) -> str:
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join(f"| {' | '.join(map(str, line))} |" for line in lines)


def requests_told(figures: Mapping[str, Any]) -> str:
    """What became of the random requests."""
    ends, why = figures["ends"], Counter[str]()
    for reason, count in figures["undecided because"].items():
        why[next((told for start, told in OPENS.items() if reason.startswith(start)), reason)] += count
    differed = figures["differences settled in fractions"]
    proofs = sum("without a proof" in fault for fault in figures["faults"])
    rows: list[tuple[object, ...]] = [("requests", f"{figures['requests']:,}")]
    rows += [(told, f"{ends.get(end, 0):,}") for end, told in ENDS.items()]
    rows += [
        ("stopped with an error", ends.get("stopped", 0)),
        ("proposals that the judge refuses when asked again", _faults(figures, "the judge refuses")),
        ('"impossible" without a proof in fractions', proofs),
        ('"impossible" where fractions have an answer', _faults(figures, "fractions have an answer")),
        ("the two solvers differ, and fractions do not settle it", _faults(figures, "HiGHS")),
        ("the two solvers differ, and fractions settle it", sum(differed.values())),
    ]
    parts = [_table(("What", "Count"), rows)]
    parts.append(_table(("How they differed", "Count"), sorted(differed.items())))
    parts.append(_table(("Undecided because", "Count"), sorted(why.items())))
    hard = [(f"{name}", f"{count:,}") for name, count in figures["hard numbers"].items()]
    parts.append(_table(("Hard numbers", "Requests"), hard))
    kinds = (f"{name} {count:,}" for name, count in figures["kinds of rules"].items())
    parts.append(f"Requests with a rule of each kind: {'; '.join(kinds)}.")
    return "\n\n".join(parts)


def _faults(figures: Mapping[str, Any], word: str) -> int:
    return sum(word in fault for fault in figures["faults"])


def attacks_told(runs: Iterable[Mapping[str, Any]]) -> str:
    """How many files each reader was given, and what upset it."""
    rows = [
        (
            run["reader"],
            "by the lines reached" if run["engine"] == "coverage" else "made worse at random",
            f"{run['seconds']} s",
            f"{run['tried']:,}",
            f"{run['peak_mb']} MB" if "peak_mb" in run else "",
            len(run["faults"]),
        )
        for run in sorted(runs, key=lambda one: (one["reader"], one["engine"]))
    ]
    total = sum(int(str(row[3]).replace(",", "")) for row in rows)
    head = ("Reader", "Chosen", "Time", "Files given", "Most memory", "Upset by")
    return _table(head, [*rows, ("together", "", "", f"{total:,}", "", sum(int(row[5]) for row in rows))])


def written() -> str:
    """The page with its tables as the kept figures have them."""
    text = PAGE.read_text(encoding="utf-8")
    for name, told in ((ASKED, requests_told), (ATTACKED, attacks_told)):
        begin, end = marks(name)
        figures = json.loads((FIGURES / f"{name}.json").read_text(encoding="utf-8"))
        between = f"{begin}\n\n{told(figures)}\n\n{end}"
        text = re.sub(f"{re.escape(begin)}.*{re.escape(end)}", lambda _: between, text, flags=re.DOTALL)  # noqa: B023
    return text


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--requests", type=Path, nargs="*", default=[])
    said.add_argument("--attacks", type=Path, nargs="*", default=[])
    asked = said.parse_args()
    FIGURES.mkdir(parents=True, exist_ok=True)
    found: dict[str, object] = {}
    if asked.requests:
        answers = {one.seed: one for path in asked.requests for one in kept_in(path)}
        found[ASKED] = summed_up(one for _, one in sorted(answers.items()))
    if asked.attacks:
        lines = [line for path in asked.attacks for line in path.read_text(encoding="utf-8").splitlines()]
        found[ATTACKED] = [json.loads(line) for line in lines]
    for name, figures in found.items():
        (FIGURES / f"{name}.json").write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    PAGE.write_text(written(), encoding="utf-8")


if __name__ == "__main__":
    main()
