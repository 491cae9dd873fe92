"""Whether a part of a model has an answer, and the best one; settled in exact fractions or not at all."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.certify.best import Best, prove_best
from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.farkas import prove_infeasible
from optimiser.certify.proof import Cases, Farkas, Feasible, Optimum
from optimiser.certify.simplex import solve_exactly
from optimiser.certify.verify import covers, is_answer, is_optimal
from optimiser.explain.sides import Member, limit_of, without
from optimiser.model.rows import Model, total
from optimiser.solver.highs import Relaxer, Session, solve_lp, solve_milp
from optimiser.solver.interface import Limits, Outcome

Decision = Cases | Feasible | None
MENDINGS = 10


@dataclass(frozen=True, slots=True)
class Caps:
    """Where to stop. Counts stop at the same place everywhere; seconds (None: no limit) do not.

    `found`: conflicts, or cures, past which no more are looked for; `checks`: parts of the model looked at;
    `open`: parts that could not be decided. `leaves`, `nodes`, `pivots`: for one part.
    """

    found: int = 250
    checks: int = 4000
    open: int = 30
    leaves: int = 300
    nodes: int = 5_000
    pivots: int = 1000
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class Least:
    """The best exact answer; none is better by `step` or more (0: none is better at all)."""

    objective: Fraction
    values: Mapping[str, Fraction]
    step: Fraction


class Judge:
    """Decides for sets of members, given as bits, whether the model with only these has an answer.

    What is not a member always stays. Answers found are kept: what they meet is known to be possible.
    """

    def __init__(self, model: Model, members: Sequence[Member], caps: Caps) -> None:
        self.model = model.with_cost({}, "min")
        self.members = tuple(members)
        self.caps = caps
        self.everything = (1 << len(self.members)) - 1
        self.checks = 0
        self.undecided = 0
        self._starts = time.monotonic()
        self._answers: list[tuple[int, Mapping[str, Fraction]]] = []
        self._bit = {(m.what, m.name, m.side): 1 << i for i, m in enumerate(self.members)}
        self._limits = [limit_of(model, member) for member in self.members]
        self._session: Session | None = None
        self._at = self.everything
        self._last: tuple[int, Decision] | None = None

    @property
    def spent(self) -> bool:
        """Whether the lists have had their share of the caps: of the time two thirds, of the others all."""
        return self.checks >= self.caps.checks or self.undecided >= self.caps.open or self._past(2 / 3)

    @property
    def late(self) -> bool:
        """Whether the time is over."""
        return self._past(1)

    def _past(self, share: float) -> bool:
        seconds = self.caps.seconds
        return seconds is not None and time.monotonic() > self._starts + share * seconds

    def limits(self) -> Limits:
        """What is left of the time and the nodes for one solve."""
        if self.caps.seconds is None:
            return Limits(None, self.caps.nodes)
        return Limits(max(0.1, self._starts + self.caps.seconds - time.monotonic()), self.caps.nodes)

    def chosen(self, bits: int) -> tuple[Member, ...]:
        return tuple(member for i, member in enumerate(self.members) if bits >> i & 1)

    def bits(self, found: Sequence[Member] | frozenset[Member]) -> int:
        """The bits of these members; those that may not be blamed have none."""
        return sum(self._bit.get((m.what, m.name, m.side), 0) for m in found)

    def part(self, kept: int) -> Model:
        return without(self.model, self.chosen(self.everything & ~kept))

    def decide(self, kept: int) -> Decision:
        """A proof, an answer, both summed up again here; or None when neither was found."""
        for met, values in self._answers:
            if not kept & ~met:
                return Feasible(values)
        if self._last is None or self._last[0] != kept:
            self.checks += 1
            self._last = (kept, self._checked(kept))
            self.undecided += self._last[1] is None
        return self._last[1]

    def nearer(self, kept: int, proof: Cases) -> tuple[int, Cases]:
        """A smaller impossible set that HiGHS points at, where exact fractions agree; else the set itself."""
        part = self.part(kept)
        named = frozenset() if part.whole else Session(part).conflict()
        bits = kept & sum(1 << i for i, m in enumerate(self.members) if (m.what, m.name) in named)
        found = self.decide(bits) if bits and bits != kept else None
        return (bits, found) if isinstance(found, Cases) else (kept, proof)

    def _checked(self, kept: int) -> Decision:
        part = self.part(kept)
        found = self._settle(part, kept)
        if isinstance(found, Feasible):
            if not is_answer(part, found):
                return None
            self._answers.append((self._met(found.values), found.values))
        elif found is not None and not covers(part, found):
            return None
        return found

    def _met(self, values: Mapping[str, Fraction]) -> int:
        broken = {(v.what, v.name, v.side) for v in self.model.violations(values)}
        bits = self.everything
        for member in self.members:
            if member.what == "whole":
                missed = any(values[name].denominator != 1 for name in member.vars)
            else:
                missed = (member.what, member.name, member.side) in broken
            if missed:
                bits &= ~self._bit[member.what, member.name, member.side]
        return bits

    def _settle(self, part: Model, kept: int) -> Decision:
        relaxation = self._relaxed(part, kept)
        if isinstance(relaxation, Farkas):
            return Cases((relaxation,))
        if isinstance(relaxation, Optimum):
            if all(relaxation.values[name].denominator == 1 for name in part.whole):
                return Feasible(relaxation.values)
        elif not part.whole:
            return None
        floats = solve_milp(part, self.limits())
        if floats.has_values and (answer := held_answer(part, floats.values)):
            return Feasible(answer.values)
        return prove_infeasible_by_cases(
            part, Relaxer(), max_leaves=self.caps.leaves, pivots=self.caps.pivots
        )

    def _relaxed(self, part: Model, kept: int) -> Farkas | Optimum | None:
        """The continuous relaxation: what cannot be, or some point of it."""
        session = self._moved_to(part, kept)
        hint = session.solve(self.limits())
        if hint.outcome is Outcome.INFEASIBLE:
            proof = prove_infeasible(part, hint.ray, hint.basis, self.caps.pivots)
            if proof is not None:
                return proof
        exact = solve_exactly(part, hint.basis, self.caps.pivots)
        return exact if isinstance(exact, Farkas | Optimum) else None

    def _moved_to(self, part: Model, kept: int) -> Session:
        """One session for all parts; only the limits that differ from the last part move."""
        if self._session is None:
            self._session = Session(self.model.relaxed())
        changed = {(m.what, m.name) for m in self.chosen(kept ^ self._at)}
        self._at = kept
        for row in part.rows:
            if ("row", row.name) in changed:
                self._session.move_row(row.name, row.lower, row.upper)
        for var in part.vars:
            if ("bound", var.name) in changed:
                self._session.move_bounds(var.name, var.lower, var.upper)
        return self._session


def held_answer(model: Model, floats: Mapping[str, float]) -> Least | None:
    """The best exact answer with the whole variables held at what the floats round to, if there is one."""
    held = {name: Fraction(round(floats[name])) for name in model.whole}
    part = model.with_bounds({name: (value, value) for name, value in held.items()})
    exact = solve_exactly(part, solve_lp(part).basis)
    if isinstance(exact, Optimum) and not model.violations(exact.values):
        return Least(exact.objective, exact.values, Fraction(0))
    return None


def least(model: Model, limits: Limits, leaves: int) -> Least | Cases | None:
    """The best exact answer with its proof checked, or the proof that there is none, or neither."""
    if model.whole:
        return _least_whole(model, limits, leaves)
    exact = solve_exactly(model, solve_lp(model, limits).basis)
    if isinstance(exact, Optimum) and is_optimal(model, exact):
        return Least(exact.objective, exact.values, Fraction(0))
    if isinstance(exact, Farkas) and covers(model, proof := Cases((exact,))):
        return proof
    return None


def _least_whole(model: Model, limits: Limits, leaves: int) -> Least | Cases | None:
    floats = solve_milp(model, limits)
    answer = held_answer(model, floats.values) if floats.has_values else None
    if answer is None:
        found = prove_infeasible_by_cases(model, Relaxer(), max_leaves=leaves)
        if isinstance(found, Cases):
            return found if covers(model, found) else None
        answer = None if found is None else _better(model, found)
    for _ in range(MENDINGS):
        if answer is None:
            return None
        best = prove_best(model, answer.values, Relaxer(), leaves)
        if isinstance(best, Best):
            return replace(answer, step=Fraction(0) if best.exact else best.step)
        answer = None if best is None else _better(model, best)
    return None


def _better(model: Model, found: Feasible) -> Least:
    """The answer found, improved as far as its whole numbers allow."""
    floats = {name: float(value) for name, value in found.values.items()}
    plain = Least(total(model.cost, found.values) + model.constant, found.values, Fraction(0))
    return held_answer(model, floats) or plain
