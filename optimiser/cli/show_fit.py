"""A fitted response on the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from optimiser.cli.console import console, fixed, plain, short, table
from optimiser.domain.response import Fitted
from optimiser.export.trial_words import measure_words
from optimiser.statistics.scheffe import Fit, Term
from optimiser.trials.fitting import Gathered, idle, off_days, scatter_of, unsettled
from optimiser.workflows.trial_fit import FitFound

LITTLE = 0.05


def show_fit(found: FitFound) -> None:
    """Coefficients with their errors, how well it fits, what is left open, and where it holds."""
    out, fit, told = console(), found.fit, found.gathered
    names = {name: one.name for name, one in found.sources.worktable.ingredients.items()}
    unit = f" [{told.unit}]" if told.unit else ""
    names |= {one.name: measure_words(one.name) for one in told.settings}
    of = ", ".join(names.get(name, name) for name in (*told.varied, *(s.name for s in told.settings)))
    title = f"{told.measure}{unit}: {fit.model.kind} in {of}, from {len(told.trials)} trials"
    out.print(plain(title), style="bold")
    out.print(plain(", ".join(told.trials)))
    if told.unweighed:
        out.print(plain(f"Not counted, for nothing was weighed: {', '.join(told.unweighed)}."))
    out.print()
    rows = [
        (_named(term, names), _three(value), "–" if error is None else f"± {_three(error)}")
        for term, value, error in zip(fit.terms, fit.coefficients, fit.errors, strict=True)
        if term[:1] != ("block",)
    ]
    out.print(table(("Term", "Value", "Standard error"), rows, right=(1, 2)))
    out.print()
    for line in (*_meaning(found, names), *_days(fit, told), *_quality(fit, told), *_open(fit, names)):
        out.print(plain(line))
    out.print()
    if found.response is None:
        out.print(plain(f"Not to be used as a rule: {found.untold}."))
    else:
        _reach(out, found.response, names)


def _three(value: float) -> str:
    return fixed(Fraction(repr(value)), 3)


def _named(term: Term, names: dict[str, str]) -> str:
    return " × ".join(names.get(name, name) for name in term)


def _meaning(found: FitFound, names: dict[str, str]) -> Iterator[str]:
    fit = found.fit
    if any(fit.model.lows):
        lows = ", ".join(
            f"{names.get(name, name)} {_three(low)}"
            for name, low in zip(fit.model.blend, fit.model.lows, strict=True)
        )
        yield f"Each line counts as a part of these lines' sum, from its least part on: {lows}."
    else:
        yield "Each line counts as a part of these lines' sum. A value is that of the line alone, far"
        yield "outside of the trials: what counts is how the values differ."
    for one in found.gathered.settings:
        low, middle, high = (short(value) for value in (one.low, one.middle, one.high))
        yield (
            f"{names[one.name]} counts as −1 at {low}, 0 at {middle} and +1 at {high} {one.unit}".rstrip()
            + "."
        )
    if found.gathered.uncounted:
        told = ", ".join(found.gathered.uncounted)
        yield f"Not counted, though not the same in all trials: {told}. With --made it is."


def _days(fit: Fit, told: Gathered) -> Iterator[str]:
    """How far each day stands off, and what that does to a jar of another day."""
    days = off_days(fit)
    if not days:
        return
    each = "; ".join(
        f"{day} by {'+' if off > 0 else ''}{_three(off)}"
        for day, off in zip(sorted(set(told.blocks)), days, strict=True)
    )
    yield f"Days stand off from their mean, which is what the terms foretell: {each}."
    if fit.residual is not None:
        scatter, freedom = scatter_of(fit)
        yield (
            f"A jar of another day scatters by {_three(scatter)}, as far as these days tell "
            f"({freedom} {'degree' if freedom == 1 else 'degrees'} of freedom)."
        )


def _quality(fit: Fit, told: Gathered) -> Iterator[str]:
    if fit.residual is not None:
        by = _three(fit.residual)
        day = " of its day" if told.blocks else ""
        yield f"One jar scatters about the model{day} by {by}, on {fit.freedom} degrees of freedom."
    if fit.left_out_error is not None:
        yield f"Left out one by one, the trials are foretold to within {_three(fit.left_out_error)}."
    elif fit.residual is not None:
        alone = [t for t, miss in zip(told.trials, fit.left_out, strict=True) if miss is None]
        yield f"Without {', '.join(alone)} a term could not be told, so left-out errors are not summed up."
    if fit.r_squared is not None:
        yield f"It explains {fixed(Fraction(repr(fit.r_squared)) * 100, 1)} % of the spread of the readings."
    lack = fit.lack
    if lack is None:
        yield "Lack of fit cannot be told: that takes trials made alike, and more different ones than terms."
        return
    ratio, chance = _three(lack.ratio), short(Fraction(repr(lack.chance)) * 100, 1)
    told_of = f"misfit {ratio} times the scatter of trials made alike (chance {chance} %)"
    if lack.chance < LITTLE:
        yield f"Lack of fit: {told_of}. The model is too simple for these readings."
    else:
        yield f"Lack of fit: none that shows; {told_of}."


def _open(fit: Fit, names: dict[str, str]) -> Iterator[str]:
    still = "; ".join(_named(one, names) for one in idle(fit))
    if still:
        yield f"Not told from no effect by two standard errors: {still}."
    left = unsettled(fit)
    if not left:
        return
    if fit.model.kind == "linear":
        pairs = "; ".join(" and ".join(names.get(name, name) for name in pair) for pair in left)
        yield f"Not told apart by two standard errors: {pairs}."
    else:
        yield f"Not told from none by two standard errors: {'; '.join(_named(one, names) for one in left)}."


def _reach(out: Any, response: Fitted, names: dict[str, str]) -> None:
    """Where it holds: nothing is foretold beyond."""
    rows = [
        (names.get(one.ingredient, one.ingredient), short(one.low), short(one.high), how)
        for reaches, how in ((response.varied, "varied"), (response.others, "held the same"))
        for one in reaches
    ]
    low, high = response.together
    rows.append(("what varied, together", short(low), short(high), ""))
    out.print(table(("It holds where there is", "from %", "to %", ""), rows, right=(1, 2)))
    for one in response.settings:
        ends = f"{short(one.low)} to {short(one.high)} {one.unit}".rstrip()
        out.print(plain(f"Made with {names[one.name]} of {ends}."))
    if response.free:
        out.print(plain(f"Without effect, as far as is assumed: {', '.join(map(str, response.free))}."))
