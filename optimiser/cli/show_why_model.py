"""Why a model file is impossible, as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from optimiser.certify.proof import Term
from optimiser.cli.console import console, fixed, plain, table
from optimiser.explain.enumerate import Clash
from optimiser.explain.repairs import Mix, Repair
from optimiser.explain.sides import Member, leaves_with_cases, limit_of, row_named, var_named
from optimiser.export.figures import MINUS
from optimiser.model.exact import exact_text, indecimal
from optimiser.model.rows import Coefs, Model
from optimiser.workflows.explain_model import ModelExplanation

MOST_CASES = 4
MOST_ALWAYS = 8
LONG = 14
WIDE = 40
VERDICTS = {
    "possible": "possible. An exact answer meets every limit.",
    "impossible": "impossible. Proved in exact fractions.",
    "within tolerance": "no exact answer, but one within the solver's tolerance. It is short of being "
    "possible by less than the solver can see: look at the least misses below before you call it impossible.",
    "undecided": "undecided. Neither an exact answer nor a proof that there is none was found.",
}


def show_explanation(found: ModelExplanation) -> None:
    """The verdict, the conflicts with their sums, the cures, what each limit alone would need, the mix."""
    out = console()
    out.print(f"{plain(found.model.name)}: {VERDICTS[found.verdict]}")
    if found.verdict == "possible" and found.solver.value == "infeasible":
        out.print("The solver by itself called it impossible; the exact answer decides.")
    if found.verdict in ("possible", "undecided"):
        return
    _clashes(out, found)
    _cures(out, found)
    out.print()
    out.print(_how_complete(found))
    _repairs(out, found.model, found.repairs)
    _mix(out, found.model, found.mix)


def _clashes(out: Any, found: ModelExplanation) -> None:
    out.print()
    out.print(f"Conflicts: {_count(len(found.clashes), found.clash_count, found.complete)}")
    for number, clash in enumerate(found.clashes, 1):
        out.print()
        out.print(f"Conflict {number}: {_head(clash)}")
        _clash(out, found.model, clash)


def _head(clash: Clash) -> str:
    if not clash.members:
        return "the limits that always hold cannot hold together"
    many = len(clash.members)
    if many == 1:
        return "this by itself cannot hold" + (", with what always holds" if clash.always else "")
    needed = "each one needed" if clash.minimal else "perhaps not each one needed"
    return f"these {many} cannot hold together, {needed}"


def _clash(out: Any, model: Model, clash: Clash) -> None:
    leaves = list(leaves_with_cases(clash.part, clash.proof))
    if len(leaves) == 1:
        out.print(table(("Times", "Limit", "Reads"), _sum(leaves[0][0], leaves[0][1], clash), right=(0,)))
        return
    for member in clash.members:
        names = clash.split if member.what == "whole" else ()
        out.print(f"  - {_words(model, member)}" + (f" ({plain(', '.join(names))})" if names else ""))
    if len(leaves) > MOST_CASES:
        out.print(f"Proved in {len(leaves)} cases; --json shows each sum.")
        return
    for number, (here, terms) in enumerate(leaves, 1):
        out.print(f"Case {number} of {len(leaves)}: {_case(clash.part, here)}")
        out.print(table(("Times", "Limit", "Reads"), _sum(here, terms, clash), right=(0,)))


def _case(whole: Model, here: Model) -> str:
    parts = []
    for own, case in zip(whole.vars, here.vars, strict=True):
        if case.lower is not None and case.lower != own.lower:
            parts.append(f"{own.name} ≥ {_number(case.lower)}")
        if case.upper is not None and case.upper != own.upper:
            parts.append(f"{own.name} ≤ {_number(case.upper)}")
    return plain(", ".join(parts))


def _sum(here: Model, terms: Sequence[Term], clash: Clash) -> Iterator[tuple[str, str, str]]:
    """Lower sides count as they read, upper sides are taken off; what is left reads 0 ≥ a positive number.

    What is blamed comes first; of limits that always hold only so many are shown.
    """
    always = {(m.what, m.name, m.side) for m in clash.always}
    left, hidden = Fraction(0), -MOST_ALWAYS
    for term in sorted(terms, key=lambda t: (t.what, t.name, t.side) in always):
        member = Member(term.what, term.name, term.side)
        limit = limit_of(here, member) or Fraction(0)
        sign = 1 if term.side == "lower" else -1
        left += sign * term.multiplier * limit
        stays = (term.what, term.name, term.side) in always
        hidden += stays
        if not stays or hidden <= 0:
            yield (
                f"{'+' if sign > 0 else MINUS}{_number(term.multiplier)}",
                _name(here, member) + (" (always holds)" if stays else ""),
                f"{_left_side(here, member)} {'≥' if sign > 0 else '≤'} {_number(limit)}",
            )
    if hidden > 0:
        yield "…", f"and {hidden} more that always hold; --json has all", ""
    yield "", "added up", f"0 ≥ {_number(left)}"


def _cures(out: Any, found: ModelExplanation) -> None:
    out.print()
    if not found.cures:
        more = "no set of limits to drop makes it possible" if found.complete else "none found"
        out.print(f"Cures: {more}.")
        return
    count = _count(len(found.cures), found.cure_count, found.complete)
    out.print(f"Cures: {count} What is left without the limits of one line has an exact answer.")
    for number, cure in enumerate(found.cures, 1):
        out.print(f"  {number}. drop {' and '.join(_words(found.model, m) for m in cure.members)}")


def _count(listed: int, found: int, complete: bool) -> str:
    if complete:
        return f"{found}, all there are." if listed == found else f"the first {listed} of {found}."
    if listed == found:
        return f"{found} found; there may be more."
    return f"the first {listed} of {found} found; there may be more."


def _how_complete(found: ModelExplanation) -> str:
    if found.complete:
        return (
            "Complete, proved: each conflict is a smallest set that meets every cure, each cure a smallest "
            "set that meets every conflict, and nothing else does. "
            f"Parts of the model decided: {found.checks}."
        )
    said = f"Not complete: stopped after {found.checks} parts of the model were decided"
    return said + (
        f", {found.unsettled} could not be." if found.unsettled else "; --seconds gives more time."
    )


def _repairs(out: Any, model: Model, repairs: Sequence[Repair]) -> None:
    out.print()
    enough = [repair for repair in repairs if repair.to is not None]
    if enough:
        out.print("One limit alone, and where it would have to be")
        rows = [
            (_name(model, r.member), _limit(r.member, r.limit), _limit(r.member, r.to), _near(r))
            for r in enough
        ]
        out.print(table(("Limit", "Now", "Enough", ""), rows, right=(1, 2)))
    unsettled = [repair for repair in repairs if repair.verdict == "unsettled"]
    if unsettled:
        names = ", ".join(_name(model, repair.member) for repair in unsettled[:5])
        more = f" and {len(unsettled) - 5} more" if len(unsettled) > 5 else ""
        out.print(f"Not settled: {names}{more}.")
    else:
        out.print(f"No {'other ' if enough else ''}limit alone makes it possible, however far it moves.")


def _near(repair: Repair) -> str:
    """The limit as a decimal where it is a ratio, and how near it is known to be the nearest."""
    ratio = repair.to is not None and indecimal(repair.to) != 1
    said = [f"≈ {float(repair.to or 0):.8g}".replace("-", MINUS)] if ratio else []
    return ", ".join([*said, f"nothing nearer by {_number(repair.step)}"] if repair.step else said)


def _limit(member: Member, limit: Fraction | None) -> str:
    sign = "≥" if member.side == "lower" else "≤"
    return "" if limit is None else f"{sign} {_number(limit)}"


def _mix(out: Any, model: Model, mix: Mix | None) -> None:
    if mix is None:
        return
    out.print()
    what = (
        "each as a part of its limit"
        if not mix.noughts
        else "in parts of the limits, or of coefficients at 0"
    )
    out.print(f"The least sum of misses ({what}): {fixed(100 * mix.total, 2)} %")
    rows = [
        (
            _name(model, move.member),
            _limit(move.member, move.limit),
            _limit(move.member, move.to),
            f"{fixed(100 * move.share, 2)} %",
        )
        for move in mix.moves
    ]
    out.print(table(("Limit", "Now", "Then", "Miss"), rows, right=(1, 2, 3)))


def _words(model: Model, member: Member) -> str:
    if member.what == "whole":
        return "whole numbers"
    return f"{_name(model, member)} ({_limit(member, limit_of(model, member))})"


def _name(model: Model, member: Member) -> str:
    sentence = row_named(model, member.name).sentence if member.what == "row" else ""
    title = var_named(model, member.name).title if member.what == "bound" else ""
    said = sentence or title
    kind = "limit of " if member.what == "bound" else ""
    return plain(f"{kind}{member.name}, {member.side}" + (f": {said}" if said else ""))


def _left_side(model: Model, member: Member) -> str:
    if member.what == "bound":
        return plain(member.name)
    return plain(_expression(row_named(model, member.name).coef))


def _expression(coef: Coefs) -> str:
    text = ""
    for place, (name, value) in enumerate(coef):
        sign = (MINUS if value < 0 else "") if not place else (f" {MINUS} " if value < 0 else " + ")
        times = "" if abs(value) == 1 else f"{_number(abs(value))} "
        text += f"{sign}{times}{name}"
        if len(text) > WIDE and place + 1 < len(coef):
            return f"{text} + … ({len(coef)} terms)"
    return text or "0"


def _number(value: Fraction) -> str:
    """The exact text where it is short, else about eight digits, marked so."""
    text = exact_text(value).replace("-", MINUS)
    return text if len(text) <= LONG else f"≈ {float(value):.8g}".replace("-", MINUS)
