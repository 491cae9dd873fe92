"""How long it takes beside the bare solver and the plain way of writing it: `python -m tests.benchmarks`.

`--sizes 50 300 1000` table sizes; `--ranges 1 10 50` numbers of formulas; `--into DIR` keeps the figures as
JSON and draws them; `--page` writes the table into docs/explanation/performance.md. Processor time (user and
system) of one process for everything but the range; pairs are run in turn, so that what else the machine
does falls on both.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

from tests.benchmarks import in_a_browser, ours_beside_others, page, start_up, whole_range
from tests.benchmarks.ours_beside_others import SOLVERS
from tests.benchmarks.tables import BRIEFS

ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    said = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    said.add_argument("--sizes", type=int, nargs="*", default=[50, 300, 1000, 5000])
    said.add_argument("--ranges", type=int, nargs="*", default=[1, 10, 50])
    said.add_argument("--solvers", nargs="*", default=list(SOLVERS), choices=list(SOLVERS))
    said.add_argument("--briefs", nargs="*", default=list(BRIEFS), choices=list(BRIEFS))
    said.add_argument("--start", type=int, default=7, help="pairs of start-ups; 0 for none")
    said.add_argument("--browser", type=int, default=0, help="presses in Chromium; 0 for none")
    said.add_argument("--pairs", type=int, default=3)
    said.add_argument(
        "--most", type=float, default=120.0, help="seconds after which another solver is stopped"
    )
    said.add_argument("--into", type=Path, default=None)
    said.add_argument("--page", action="store_true")
    asked = said.parse_args()
    run = ours_beside_others.Run(asked.pairs, asked.most, tuple(asked.solvers), tuple(asked.briefs))
    kept = asked.into / "figures.json" if asked.into else None
    figures = json.loads(kept.read_text("utf-8")) if kept and kept.exists() else {}
    with tempfile.TemporaryDirectory() as place:
        for rows in asked.sizes:
            tables = figures.setdefault("tables", {})
            tables[str(rows)] = ours_beside_others.measured(Path(place), rows, run, tables.get(str(rows), {}))
            _keep(kept, figures)
        for count in asked.ranges:
            figures.setdefault("ranges", {})[str(count)] = whole_range.measured(Path(place), count)
            _keep(kept, figures)
    if asked.start:
        figures["start"] = start_up.measured(asked.start)
        _keep(kept, figures)
    if asked.browser:
        figures["browser"] = in_a_browser.measured(asked.browser)
        _keep(kept, figures)
    sys.stdout.write(json.dumps(figures, indent=2) + "\n")
    if asked.page:
        page.write(figures, ROOT / "docs" / "explanation")


def _keep(kept: Path | None, figures: dict[str, object]) -> None:
    if kept is not None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_text(json.dumps(figures, indent=2, sort_keys=True) + "\n", "utf-8")


if __name__ == "__main__":
    main()
