"""Batches: opened when they are made, added to while their jars are about, traced both ways."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from pathlib import Path

from optimiser.domain.batches import Batch, Event, UsedLot
from optimiser.errors import DataError, UsageError
from optimiser.export.batch_yaml import batch_text, entry_text
from optimiser.files.atomic import make_folder, write_new
from optimiser.files.journal import add_to
from optimiser.loading.batches import batch_files, parse_batch, read_batch, read_batches
from optimiser.problems import did_you_mean
from optimiser.requests.sources import Sources
from optimiser.search.stock import draw
from optimiser.workflows.buy import jar_cost
from optimiser.workflows.compare import opened
from optimiser.workflows.volumes import batch_grams

NAMED = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,40}")
HUNDRED = Fraction(100)


@dataclass(frozen=True, slots=True)
class Opened:
    """The batch's file, and grams by ingredient that no lot in date covered."""

    path: Path
    batch: Batch
    missing: Mapping[str, Fraction]


def open_batch(sources: Sources, number: str, formula: str, made: date, grams: str) -> Opened:
    """Writes `batches/NUMBER.yaml` with the lots that were to be used, the first to expire first.

    The judge's opinion of the formula is not asked: what was made was made. Raises UsageError, DataError or
    OptimiserError; a batch that is there is never written over.
    """
    if not NAMED.fullmatch(number):
        raise UsageError(f'"{number}" is no batch number', "use letters, digits and hyphens, such as 2611-03")
    told = opened(sources, formula)
    settings = sources.worktable.settings
    whole = batch_grams(grams, settings.decimal) if grams else told.request.formula.batch_g
    needed: dict[str, Fraction] = {}
    for line in told.proposal.lines:
        needed[line.ingredient] = needed.get(line.ingredient, Fraction(0)) + line.percent / HUNDRED * whole
    drawn = draw(sources.worktable.shelf, needed, made)
    lots = [
        UsedLot(name, one.lot.lot, round(one.grams, 3))
        for name, taken in drawn.taken.items()
        for one in taken
    ]
    lots += [UsedLot(name, "", round(short, 3)) for name, short in sorted(drawn.missing.items())]
    costs = sources.worktable.costs
    price = told.proposal.cost_per_kg
    per_jar = jar_cost(costs, price, whole).per_jar if costs.jar and price is not None else None
    batch = Batch(
        number,
        told.request.formula.id,
        made,
        whole,
        tuple(lots),
        proposal="" if told.side.id == told.request.formula.id else f"{told.side.id}.yaml",
        price_per_jar=None if per_jar is None else round(per_jar, 4),
    )
    path = Path(sources.worktable.folder) / "batches" / f"{number}.yaml"
    make_folder(path.parent)
    write_new(path, batch_text(batch))
    return Opened(path, batch, drawn.missing)


def add_entry(folder: Path, number: str, day: date, what: Event, **said: str) -> Batch:
    """Adds one entry to the batch's file, under a lock. Raises UsageError or DataError; nothing is half.

    What cannot be is refused: jars that were never filled, jars out of a batch that is held.
    """
    path = batch_file(folder, number)
    batches: list[Batch] = []

    def more(before: str) -> str:
        batch = _parsed(before, path)
        _check(batch, what, said)
        added = entry_text(len(batch.happened) + 1, day, what, said)
        joined = before if before.endswith("\n") else f"{before}\n"
        batches.append(_parsed(joined + added, path))
        return added

    add_to(path, more)
    return batches[-1]


def _parsed(text: str, path: Path) -> Batch:
    batch, problems = parse_batch(text, f"batches/{path.name}")
    if batch is None:
        raise DataError(problems)
    return batch


def _check(batch: Batch, what: Event, said: Mapping[str, str]) -> None:
    jars = int(said.get("jars") or 0)
    if what == "went" and batch.state != "released":
        fix = f"optimiser batch release {batch.id} first"
        raise UsageError(f"batch {batch.id} is held: no jar of it goes out", fix)
    if what == "went" and jars > batch.here - batch.jars("kept"):
        free = batch.here - batch.jars("kept")
        raise UsageError(
            f"{jars} jars cannot go out: {free} of batch {batch.id} are here to sell", "count again"
        )
    if what == "back" and jars > dict(batch.went_to).get(said.get("who", ""), 0):
        raise UsageError(f"{said.get('who')} has not that many jars of batch {batch.id}", "look at the names")
    if what == "kept" and jars + batch.jars("kept") > batch.here:
        raise UsageError("more jars kept than are here", "count again")
    if what == "corrected":
        number = int(said["corrects"])
        if number not in {one.number for one in batch.counting}:
            raise UsageError(
                f"batch {batch.id} has no entry {number} that counts", "look at optimiser batch show"
            )


def batch_file(folder: Path, number: str) -> Path:
    """The file of a batch. Raises UsageError with the nearest number."""
    path = folder / "batches" / f"{number}.yaml"
    if NAMED.fullmatch(number) and path.is_file():
        return path
    known = sorted(one.stem for one in batch_files(folder))
    hint = did_you_mean(number, known) or (
        f"there are: {', '.join(known[-12:])}" if known else "none was opened"
    )
    raise UsageError(f'no batch is called "{number}"', hint)


def show_batch(folder: Path, number: str) -> Batch:
    batch, problems = read_batch(batch_file(folder, number))
    if batch is None:
        raise DataError(problems)
    return batch


@dataclass(frozen=True, slots=True)
class Trace:
    """What hangs on a lot, a batch, a buyer or an ingredient: the batches concerned, oldest first.

    `by` says what the word was taken for.
    """

    word: str
    by: tuple[str, ...]
    batches: tuple[Batch, ...]

    @property
    def went_to(self) -> tuple[tuple[str, str, int], ...]:
        """(name, batch, jars) still out."""
        return tuple((who, one.id, jars) for one in self.batches for who, jars in one.went_to)

    @property
    def here(self) -> int:
        return sum(one.here for one in self.batches)


def trace(folder: Path, word: str) -> Trace:
    """Batches that used a lot (or any lot of an ingredient), that went to a buyer, or of that number.

    Raises DataError, or UsageError when nothing in the batches is called so.
    """
    batches, problems = read_batches(folder)
    if problems:
        raise DataError(problems)
    wanted = word.casefold()
    found: dict[str, Batch] = {}
    by = []
    for name, matches in (
        ("lot", lambda one: any(lot.lot.casefold() == wanted for lot in one.lots)),
        ("ingredient", lambda one: any(lot.ingredient.casefold() == wanted for lot in one.lots)),
        ("batch", lambda one: one.id.casefold() == wanted),
        ("buyer", lambda one: any(e.who.casefold() == wanted for e in one.counting if e.what == "went")),
    ):
        hits = [one for one in batches if matches(one)]
        if hits:
            by.append(name)
            found |= {one.id: one for one in hits}
    if not found:
        hint = did_you_mean(word, _names(batches)) or "look at optimiser batch list"
        raise UsageError(f'no lot, batch, buyer or ingredient of a batch is called "{word}"', hint)
    ordered = sorted(found.values(), key=lambda one: (one.made, one.id))
    if by == ["buyer"]:
        ordered = [_only_to(one, wanted) for one in ordered]
    return Trace(word, tuple(by), tuple(ordered))


def _only_to(batch: Batch, who: str) -> Batch:
    """The batch with what concerns this buyer alone."""
    kept = tuple(
        one for one in batch.happened if one.what not in ("went", "back") or one.who.casefold() == who
    )
    return replace(batch, happened=kept)


def _names(batches: tuple[Batch, ...]) -> list[str]:
    names = {one.id for one in batches}
    names |= {lot.lot for one in batches for lot in one.lots if lot.lot}
    names |= {lot.ingredient for one in batches for lot in one.lots}
    return sorted(names | {entry.who for one in batches for entry in one.happened if entry.who})
