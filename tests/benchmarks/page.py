"""The figures as tables and a drawing in docs/explanation/performance.md."""

from __future__ import annotations

import os
import platform
import re
import statistics
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.benchmarks.ours_beside_others import same
from tests.benchmarks.tables import BRIEFS

Figures = dict[str, Any]
BEGIN, END = "<!-- speed: written by python -m tests.benchmarks --page -->", "<!-- end of speed -->"
DRAWING = "performance.svg"
OTHERS = ("highs", "cbc", "scip")
NAMES = {"highs": "HiGHS", "cbc": "CBC", "scip": "SCIP"}


def write(figures: Figures, folder: Path) -> None:
    """Puts the tables between their marks and the drawing beside the page."""
    page = folder / "performance.md"
    text = page.read_text("utf-8")
    between = "\n\n".join((BEGIN, *_sections(figures), END))
    page.write_text(
        re.sub(f"{re.escape(BEGIN)}.*{re.escape(END)}", lambda _: between, text, flags=re.DOTALL), "utf-8"
    )
    draw(figures, folder / DRAWING)


def _sections(figures: Figures) -> list[str]:
    sections = [f"![Processor time over table size]({DRAWING})", _machine()]
    sections += [_ours_and_bare(figures), _plainly(figures)]
    if figures.get("ranges"):
        sections.append(_ranges(figures["ranges"]))
    if figures.get("start"):
        start = figures["start"]
        sections.append(
            f'`optimiser --help` takes {start["help"]:.2f} s of processor time, `python -c "import click"` '
            f"{start['click']:.2f} s: {start['least']:.2f} times (least of both), {start['ratio']:.2f} times "
            f"(median of pairs). Goal: within 2 times; {_met(start['least'] <= 2)}."
        )
    if figures.get("browser"):
        sections.append(_in_a_browser(figures["browser"]))
    return sections


def _in_a_browser(found: Figures) -> str:
    return (
        f"In Chromium a limit of the demo mask that is moved by a key shows its new proposal after "
        f"{found['seen']:.2f} s where `propose` alone takes {found['own']:.2f} s (medians): "
        f"{found['ratio']:.2f} times, {found['apart_ms']:.0f} ms apart (medians of {found['moved']} pairs, "
        f"which swing by some hundred). Beside the seconds that the process that solves takes by its own "
        f"clock it is {found['beyond_ms']:.0f} ms. Goal: about 60 ms; "
        f"{_met(found['beyond_ms'] <= 66)}. "
        f"The first page, with the names of the formulas to press, is there "
        f"{found['first']:.2f} s after the command's start (median; least {found['first_least']:.2f} s). "
        f"Goal: within a second; {_met(found['first'] <= 1)}. What the reading of the folder finds, faults "
        f"and counts, is there to come into it after {found['whole']:.2f} s (median; the processor's, with "
        f"the end of the program, {found['first_processor']:.2f} s)."
    )


def _machine() -> str:
    return (
        f"{os.cpu_count()} cores of a shared virtual machine ({platform.machine()}) with other work on it, "
        f"Python {platform.python_version()}. Seconds are of the processor, user and system together; "
        "pairs were run in turn."
    )


def _ours_and_bare(figures: Figures) -> str:
    head = ("Ingredients", "Brief", "`propose`, least (median)", "Bare, least (median)", "Ratio, median",
            "Goal ≤ 1.3", "Peak memory")  # fmt: skip
    rows = []
    for size, brief, one in _each(figures):
        goal = _met(one["ratio"] <= 1.3) if int(size) >= 300 else "none at this size"
        rows.append((size, brief, _spread(one["ours"]), _spread(one["bare"]), f"{one['ratio']:.2f}", goal,
                     f"{one['peak_mb']:.0f} MB"))  # fmt: skip
    return _table(head, rows)


def _plainly(figures: Figures) -> str:
    head = (
        "Ingredients",
        "Brief",
        *(f"{NAMES[other]}, times ours: all aims (the first)" for other in OTHERS),
        "Same best value",
    )
    rows = []
    for size, brief, one in _each(figures):
        ours = statistics.median(one["ours"])
        times = [_times(one, other, ours) for other in OTHERS]
        agree = {other: same(one["values"].get(other), one["values"]["ours"]) for other in OTHERS}
        alike = [NAMES[other] for other in OTHERS if agree[other]]
        differ = [NAMES[other] for other in OTHERS if agree[other] is False]
        told = ", ".join(alike) or ("none settled it" if any(one["plain"].values()) else "not run")
        rows.append((size, brief, *times, told + (f"; not {', '.join(differ)}" if differ else "")))
    return _table(head, rows)


def _times(one: Figures, other: str, ours: float) -> str:
    first, whole = one["plain"].get(other), one.get("plain_all", {}).get(other)
    if not first or not whole:
        return "not run"
    alone = f"{statistics.median(first) / ours:.1f}"
    if one["values"].get(other) is None:
        return f"stopped at {alone}"
    stopped = "" if one["settled"][other] else "stopped at "
    return f"{stopped}{statistics.median(whole) / ours:.1f} ({alone})"


def _ranges(ranges: Figures) -> str:
    head = (
        "Formulas",
        "One process: processor, wall",
        "Two: processor, wall",
        "A minute of one core",
        "Gain in wall",
    )
    rows = []
    for count, one in sorted(ranges.items(), key=lambda pair: int(pair[0])):
        told = {
            jobs: f"{each['processor']:.1f} s, {each['wall']:.1f} s" for jobs, each in one.items() if each
        }
        rate = f"{next(iter(one.values()))['per_core_and_minute']:.0f} formulas"
        gain = f"{one['1']['wall'] / one['2']['wall']:.2f}" if len(told) == 2 else "not run"
        rows.append((count, told.get("1", "not run"), told.get("2", "not run"), rate, gain))
    return _table(head, rows)


def _each(figures: Figures) -> list[tuple[str, str, Figures]]:
    sizes = sorted(figures["tables"], key=int)
    return [
        (size, brief, figures["tables"][size][brief])
        for size in sizes
        for brief in BRIEFS
        if brief in figures["tables"][size]
    ]


def _spread(values: Sequence[float]) -> str:
    return f"{min(values):.2f} s ({statistics.median(values):.2f} s)"


def _met(yes: bool) -> str:
    return "met" if yes else "missed"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}"]
    return "\n".join([*lines, *(f"| {' | '.join(row)} |" for row in rows)])


def draw(figures: Figures, to: Path) -> None:
    """Processor time over table size, and wall time over range size; axes by powers of ten."""
    import matplotlib as mpl

    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "performance"
    from matplotlib import pyplot as plt

    figure, (*drawings, last) = plt.subplots(1, len(BRIEFS) + 1, figsize=(11, 3.6))
    for drawing, brief in zip(drawings, BRIEFS, strict=True):
        each = [(int(size), one) for size, asked, one in _each(figures) if asked == brief]
        sizes = [size for size, _ in each]
        lines = {
            "propose, whole": [one["ours"] for _, one in each],
            "bare HiGHS": [one["bare"] for _, one in each],
        }
        lines |= {
            f"plain, {NAMES[o]}": [one.get("plain_all", {}).get(o) or [float("nan")] for _, one in each]
            for o in OTHERS
        }
        for name, values in lines.items():
            bold = 2.4 if name == "propose, whole" else 1.0
            drawing.plot(
                sizes, [statistics.median(v) for v in values], marker="o", linewidth=bold, label=name
            )
        drawing.set(xscale="log", yscale="log", xlabel="ingredients", title=f"brief {brief}")
        drawing.grid(alpha=0.3)
        drawing.sharey(drawings[0])
    drawings[0].set_ylabel("processor time, s")
    drawings[-1].legend(fontsize=8)
    _draw_ranges(figures.get("ranges", {}), last)
    figure.tight_layout()
    figure.savefig(to, metadata={"Date": None})


def _draw_ranges(ranges: Figures, drawing: Any) -> None:
    counts = sorted(ranges, key=int)
    for jobs, name in (("1", "one process"), ("2", "two processes")):
        there = [count for count in counts if jobs in ranges[count]]
        walls = [ranges[count][jobs]["wall"] for count in there]
        drawing.plot([int(count) for count in there], walls, marker="o", label=name)
    drawing.set(xscale="log", yscale="log", xlabel="formulas", ylabel="wall time, s", title="a range at once")
    drawing.grid(alpha=0.3)
    drawing.legend(fontsize=8)
