"""The trials that would tell most: chosen in the room that a brief leaves a formula, beside those made."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.request import Request, Slot
from optimiser.domain.trials import Trial
from optimiser.errors import OptimiserError, UsageError
from optimiser.solver.interface import Limits
from optimiser.statistics import exchange
from optimiser.statistics.exchange import Criterion, Told
from optimiser.statistics.region import spread
from optimiser.statistics.scheffe import Kind, Model, Refusal, Term, lows_of
from optimiser.trials.making import block_of
from optimiser.trials.room import Refused, Room, Spot, Vary, may_vary, room, spots, widest

ZERO = Fraction(0)
MOST_LINES, USUAL_LINES = 5, 3
LEAST = Fraction(1, 100)
"""Points of per cent below which a line has no room to speak of."""
OVER = 400
"""Points all over the room at which a prediction's error is averaged."""
ALIKE = Fraction(1, 10)
"""Part of itself by which a line that does not vary may differ in a trial that counts, as in a fit."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of the next trials. `batches` None: as many as the model needs, and one more.

    `new_day`: trials made before stand apart by their days, as they do where there are several `blocks`.
    """

    kind: Kind = "quadratic"
    batches: int | None = None
    blocks: int = 1
    replicates: int = 2
    criterion: Criterion = "I"
    seed: int = 1
    new_day: bool = False

    @property
    def by_days(self) -> bool:
        return self.blocks > 1 or self.new_day


@dataclass(frozen=True, slots=True)
class Counted:
    """A trial that was made already: its place among the lines that vary, or why it does not count."""

    id: str
    point: tuple[Fraction, ...] = ()
    why_not: str = ""
    day: str = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch to make, by number in the order to make them. `without` is the mean variance of a prediction
    if it alone were left out; None where the model could not be fitted then."""

    number: int
    block: int
    again: bool
    spot: Spot
    without: float | None


@dataclass(frozen=True, slots=True)
class NextTrials:
    """The plan. Variances are in units of one reading's variance; `before` is None where the trials made so
    far cannot carry the model."""

    room: Room
    wanted: Wanted
    model: Model
    batches: tuple[Batch, ...]
    earlier: tuple[Counted, ...]
    refused: tuple[Refused, ...]
    before: Told | None
    after: Told
    passed: int

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the lines that vary, the filler last."""
        return self.room.corners.region.names


def next_trials(
    request: Request,
    shares: Mapping[Slot, Fraction],
    vary: Sequence[Vary],
    trials: Sequence[Trial],
    wanted: Wanted,
    limits: Limits,
) -> NextTrials:
    """The plan for a formula that the judge passes. Without `vary`, the three lines with the most room.

    Raises UsageError or OptimiserError where a line has no room or the batches are too few.
    """
    lines = tuple(vary) or _roomy(request, shares, limits)
    if len(lines) > MOST_LINES:
        raise UsageError(f"{len(lines)} lines cannot be varied at once", f"name at most {MOST_LINES}")
    place = room(request, shares, lines, limits)
    _check_room(place)
    earlier = tuple(counted(place, trial) for trial in trials)
    good, bad = spots(place)
    found = [one.point for one in good]
    model = Model(_ids(place), wanted.kind, lows=lows_of(found, len(place.slots)))
    made = [one.point for one in earlier if one.point]
    days = [one.day for one in earlier if one.point] if wanted.by_days else None
    over = spread(place.corners, OVER)
    count = _runs(model, wanted, len(made), len(set(days or ())))
    if count <= wanted.replicates:
        raise UsageError(
            f"{count} {'batch' if count == 1 else 'batches'}, {wanted.replicates} of them made again, "
            "leave none to make first",
            f"give --batches {wanted.replicates + 1} or more, or --replicates 0",
        )
    settled = exchange.Wanted(count, wanted.criterion, wanted.blocks, wanted.replicates, wanted.seed)
    plan = exchange.design(model, found, settled, made, over, days)
    if isinstance(plan, Refusal):
        raise _refused(plan, settled, place)
    at = [found[run.candidate] for run in plan.runs]
    on = [f"new {run.block}" for run in plan.runs]
    batches = []
    for number, run in enumerate(plan.runs):
        left = None if days is None else [*days, *on[:number], *on[number + 1 :]]
        rest = exchange.tells(model, [*made, *at[:number], *at[number + 1 :]], over, left)
        without = None if rest is None else rest.mean_variance
        batches.append(Batch(number + 1, run.block, run.repeats, good[run.candidate], without))
    return NextTrials(place, wanted, model, tuple(batches), earlier, bad, plan.before, plan.after, len(good))


def _ids(place: Room) -> tuple[str, ...]:
    return tuple(slot.ingredient for slot in place.slots)


def _roomy(request: Request, shares: Mapping[Slot, Fraction], limits: Limits) -> tuple[Vary, ...]:
    found = [slot for slot, points in widest(request, shares, limits) if points > 0]
    if not found:
        raise OptimiserError(
            "no line of this formula has room in the brief", "loosen a target of the brief, or use another"
        )
    return tuple(Vary(slot) for slot in found[:USUAL_LINES])


def _runs(model: Model, wanted: Wanted, made: int, days: int) -> int:
    if wanted.batches is not None:
        return wanted.batches
    least = len(model.terms) + wanted.blocks + days - 1 + wanted.replicates + 1
    return max(least - made, wanted.replicates + 2)


def _check_room(place: Room) -> None:
    """Raises where a line cannot move, with the rules that hold it, or where lines are tied together."""
    names = place.corners.region.names
    if place.corners.empty:
        raise OptimiserError(
            "the limits given for these lines leave no formula that meets the brief",
            "widen them, or name the lines without limits",
        )
    spans = [place.corners.span(part) for part in range(len(names))]
    for part, name in enumerate(names[:-1]):
        if spans[part][1] - spans[part][0] < LEAST:
            raise OptimiserError(
                f"{name} has no room in this brief; held by: {'; '.join(_held(place, part))}",
                "vary another line, or loosen a rule that holds this one",
            )
    if place.corners.degenerate or spans[-1][1] - spans[-1][0] < LEAST:
        tied = _held(place, len(names) - 1) if not place.corners.degenerate else ()
        by = f"; held by: {'; '.join(tied)}" if tied else ""
        raise OptimiserError(
            f"the brief ties {', '.join(names[:-1])} to each other: they cannot be varied apart{by}",
            "name fewer of them",
        )


def _held(place: Room, part: int) -> tuple[str, ...]:
    """What holds a line at its ends, each once."""
    ends = (place.corners.holders(part, most=most) for most in (False, True))
    return tuple(dict.fromkeys(one.rstrip(".") for one in itertools.chain(*ends)))


def _refused(plan: Refusal, wanted: exchange.Wanted, place: Room) -> OptimiserError:
    if plan.reason == "too few trials":
        more = plan.wanted - plan.trials
        return UsageError(
            f"{wanted.runs} batches are too few: {plan.wanted - wanted.repeats} numbers are to be learned"
            + (f" and {wanted.repeats} batches are made again" if wanted.repeats else ""),
            f"give --batches {wanted.runs + more}, a simpler --model, or fewer lines to --vary",
        )
    names = dict(zip(_ids(place), place.corners.region.names, strict=True))
    tied = ["; ".join(_words(term, names) for term in group) for group in plan.together]
    return OptimiserError(
        f"no set of trials in this room tells these apart: {', and '.join(tied)}",
        "take a simpler --model, or vary lines with more room",
    )


def _words(term: Term, names: Mapping[str, str]) -> str:
    return " with ".join(names.get(name, name) for name in term)


def counted(place: Room, trial: Trial) -> Counted:
    """Where a trial stands among the lines that vary; all other lines have to be as they are here."""
    grams = trial.grams
    total = sum(grams.values(), ZERO)
    kept: dict[str, Fraction] = {}
    for slot, share in place.shares.items():
        kept[slot.ingredient] = kept.get(slot.ingredient, ZERO) + share
    names = place.request.ingredients
    if not total or not trial.was_weighed:
        return Counted(trial.id, why_not="opened, and nothing of it was weighed")
    if trial.state == "dropped" and not any(one.what in ("read", "felt") for one in trial.counting):
        return Counted(trial.id, why_not="dropped, and nothing of it was read")
    for name in sorted({*grams, *kept} - set(_ids(place))):
        own, here = 100 * grams.get(name, ZERO) / total, kept.get(name, ZERO)
        if _dosed(place, name) and name in grams:
            continue
        if abs(own - here) > ALIKE * max(own, here):
            label = names[name].name if name in names else name
            return Counted(trial.id, why_not=f"{label} is {'not there' if not own else 'another share'}")
    point = []
    for slot in place.slots:
        fixed = kept[slot.ingredient] - place.shares.get(slot, ZERO)
        point.append(100 * grams.get(slot.ingredient, ZERO) / total - fixed)
    return Counted(trial.id, tuple(point), day=block_of(trial))


def _dosed(place: Room, ingredient: str) -> bool:
    return any(slot.ingredient == ingredient for slot in (*place.request.dosed, *place.request.fixed))


def named_lines(request: Request, shares: Mapping[Slot, Fraction], words: Mapping[str, Vary]) -> None:
    """Raises UsageError where a line may not vary: it is not there, dosed to a reading, or the filler."""
    free = set(may_vary(request, shares))
    for word, one in words.items():
        if one.slot == request.filler:
            raise UsageError(
                f"{word} makes up 100 %: it takes what the other lines leave", "name other lines"
            )
        if one.slot in request.fixed or one.slot in request.dosed:
            raise UsageError(f"{word} is dosed to a reading, so its share is not chosen", "name other lines")
        if one.slot not in free:
            raise UsageError(f"{word} is not in this formula", "name lines of the formula")
