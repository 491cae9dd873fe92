"""What the folder holds, for the first screen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimiser.domain.formula import Formula
from optimiser.domain.trials import Trial
from optimiser.page.desk import Kept, Seen
from optimiser.page.views.figures import Figures

FORMULAS = "formulas/"


@dataclass(frozen=True, slots=True)
class Entry:
    id: str
    name: str
    about: str


@dataclass(frozen=True, slots=True)
class Have:
    formulas: tuple[Entry, ...]
    proposals: tuple[Entry, ...]
    trials: tuple[Entry, ...]
    counts: str
    unread: Unread | None = None


@dataclass(frozen=True, slots=True)
class Unread:
    """The folder cannot be read; so many files lie among its formulas."""

    count: int


def have_of(seen: Seen, proposals: Sequence[Kept], trials: Sequence[Trial], figures: Figures) -> Have:
    table = seen.sources.worktable if seen.sources else None
    formulas = sorted(table.formulas.values(), key=lambda f: f.name.casefold()) if table else []
    counts = ""
    if table:
        counts = (
            f"{len(table.ingredients)} ingredients, {len(table.shelf)} lots on the shelf, "
            f"{len(table.briefs)} briefs, {len(table.clashes)} clashes. "
            f"Limits in force on {table.settings.rules_date.isoformat()} ({table.settings.jurisdiction})."
        )
    return Have(
        tuple(Entry(f.id, f.name, about(f, figures)) for f in formulas),
        tuple(
            Entry(one.name, one.name.replace("-", " "), _of_kept(one, table.formulas if table else {}))
            for one in proposals
        ),
        tuple(Entry(t.id, t.id, _of_trial(t, table.formulas if table else {})) for t in reversed(trials)),
        counts,
        None if table else Unread(sum(one.startswith(FORMULAS) for one in seen.files)),
    )


def about(formula: Formula, figures: Figures) -> str:
    """`rinse-off · face · balm · 250 g a batch`."""
    product = formula.product
    words = [product.use, product.area, product.form]
    return " · ".join([*(w for w in words if w), f"{figures.short(formula.batch_g)} g a batch"])


def _of_kept(one: Kept, formulas: Mapping[str, Formula]) -> str:
    """`Sunflower cleansing balm · 2026-11-26`."""
    name = formulas[one.formula].name if one.formula in formulas else one.formula
    return " · ".join(filter(None, (name, one.day.isoformat())))


def _of_trial(trial: Trial, formulas: object) -> str:
    known = formulas if isinstance(formulas, dict) else {}
    name = known[trial.formula].name if trial.formula in known else trial.formula
    count = len(trial.counting)
    return f"{name} · {count} entr{'y' if count == 1 else 'ies'}"
