"""Why, on the terminal."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from optimiser.cli.console import console, fixed, plain, short, signed, table
from optimiser.cli.show_answer import show_outcome
from optimiser.cli.show_comparison import show_comparison
from optimiser.domain.outcome import Proposals
from optimiser.domain.why import Forced, LimitCost, LineWhy, RunnerUp, Span, Why

HAIR = Fraction(1, 1000)


def show_why(found: Why, *, whole: bool = False) -> None:
    """Line by line, then what each limit costs."""
    out = console()
    request = found.outcome.request
    out.print(plain(request.name), style="bold")
    out.print(f"Aim: {found.aim}. Formulas that are as good may differ in the lines with room.")
    out.print()
    heads = ("Line", "%", "As good from – to", "May be from – to", "Without it")
    rows = [_line(one, found) for one in found.lines]
    out.print(table(heads, rows, right=(1, 2, 3)))
    _runners_up(out, found)
    out.print("What stops a line where it stands", style="bold")
    for one in found.lines:
        for text in one.held_by[: None if whole else 2]:
            own = text.removeprefix(f"{one.name}: ").removeprefix(f"{one.name}, ")
            out.print(plain(f"  {one.name}: {own}"))
    out.print()
    _limits(out, found)


def _line(one: LineWhy, found: Why) -> tuple[str, ...]:
    return one.name, fixed(one.share), _span(one.as_good), _span(one.may), _without(one, found)


def _runners_up(out: Any, found: Why) -> None:
    """Line by line what would come in next, and at which price."""
    rows = []
    money = f"{found.outcome.request.currency}/kg"
    for line in found.lines:
        one = line.runner_up
        if one is not None:
            now = fixed(one.price, 2)
            rows.append((line.name, one.name, now, *_comes_in(one)))
    if rows:
        out.print("What would come in next, and at which price", style="bold")
        heads = ("Line", "Runner-up", f"Costs, {money}", "Comes in at", "Has then, %", "Line then, %")
        out.print(table(heads, rows, right=(2, 3, 4, 5)))


def _comes_in(one: RunnerUp) -> tuple[str, str, str]:
    if one.comes_in is None:
        return "not even for nothing", "", ""
    return fixed(one.comes_in, 2), short(one.share), short(one.line) if one.line else "–"


def _span(span: Span | None) -> str:
    if span is None:
        return "not settled"
    least, most = span
    return short(least) if most - least <= HAIR else f"{short(least)} – {short(most)}"


def _without(one: LineWhy, found: Why) -> str:
    if one.needed:
        return "no formula"
    if one.behind is None:
        return "not settled"
    unit = f" {found.unit}" if found.unit else ""
    words = f"+{short(max(one.behind, Fraction(0)), 2)}{unit}"
    if one.dearer is not None and abs(one.dearer) >= Fraction(1, 200) and found.aim != "cost":
        words += f", {signed(one.dearer, 2)} {found.outcome.request.currency}/kg"
    return words + (f"; then {', '.join(one.then)}" if one.then else "")


def _limits(out: Any, found: Why) -> None:
    if not found.limits:
        out.print("No limit that could be moved holds it back.")
        return
    out.print("What the next step of a limit costs", style="bold")
    money = f"{found.outcome.request.currency}/kg"
    heads = ("Limit", "Step", "With the same ingredients", "With any")
    seen: dict[tuple[str, str, bool], dict[bool, LimitCost]] = {}
    for one in found.limits:
        seen.setdefault((one.rule, one.side, one.tighter), {})[one.whole] = one
    rows = []
    for (rule, _, _), both in seen.items():
        one = next(iter(both.values()))
        step = _moved(one)
        rows.append((rule.rstrip("."), step, *(_cost(both.get(w), found, money) for w in (False, True))))
    out.print(table(heads, rows))


def _moved(one: LimitCost) -> str:
    up = (one.side == "low") == one.tighter
    unit = f" {one.unit}" if one.unit else ""
    return f"{'+' if up else '−'}{short(one.step, 4)}{unit} ({'tighter' if one.tighter else 'looser'})"


def _cost(one: LimitCost | None, found: Why, money: str) -> str:
    if one is None:
        return ""
    if one.aim is None or one.money is None:
        return "no formula"
    unit = f" {found.unit}" if found.unit else f" {found.aim}"
    aim = "" if found.aim == "cost" else f"{signed(one.aim, 3) or '0'}{unit}, "
    return f"{aim}{signed(one.money, 4) or '0'} {money}{_until(one)}"


def _until(one: LimitCost) -> str:
    if one.until is None:
        return ""
    if abs(one.until - one.limit) <= one.step:
        return ", this step only"
    return f", up to {short(one.until, 4)}{f' {one.unit}' if one.unit else ''}"


def show_forced(free: Proposals, forced: tuple[Forced, ...]) -> None:
    """Each forced answer beside the free one, or why there is none."""
    out = console()
    for one in forced:
        out.print(plain(f"And {one.asked}?"), style="bold")
        if one.beside is not None and isinstance(one.outcome, Proposals):
            before, after = (_reached(p) for p in (free, one.outcome))
            for (name, unit, was), (_, _, now) in zip(before, after, strict=False):
                more = signed(now - was, 2) or "no more"
                out.print(plain(f"{name}: {short(was, 2)} becomes {short(now, 2)} {unit} ({more})."))
            show_comparison(one.beside)
        else:
            show_outcome(one.outcome)


def _reached(found: Proposals) -> list[tuple[str, str, Fraction]]:
    return [(stage.name, stage.unit, stage.value) for stage in found.proposals[0].stages]
