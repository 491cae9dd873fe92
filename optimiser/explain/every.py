"""Every minimal clash of a request and every minimal way out: found in floats, proved in fractions.

A smallest set of sides that meets every clash known is given up. The rest is possible: a way out. Or it is
not: it holds a further clash. HiGHS says which, and exact fractions say it again of each member of the lists
only: when every clash is proved impossible, every way out has an exact answer and each list is all the
minimal sets that meet the other one, both are complete, whatever the floats said on the way (M. H. Liffiton,
K. A. Sakallah, Journal of Automated Reasoning 40 (2008) 1-33).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.proof import Cases
from optimiser.certify.verify import covers
from optimiser.domain.lists import Clash, RuleSide
from optimiser.domain.rules import Rule
from optimiser.explain.deciding import held_answer
from optimiser.explain.every_proof import cut_down, sum_in_words
from optimiser.explain.every_sides import Sides
from optimiser.explain.hitting import TooManyError, are_dual, smallest_new
from optimiser.explain.sides import split_on
from optimiser.model.rows import Model
from optimiser.solver.highs import Relaxer, Session
from optimiser.solver.interface import Limits, Outcome

Values = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Caps:
    """Where to stop; `seconds` None: counts alone stop it, at the same place everywhere."""

    found: int = 60
    checks: int = 1500
    leaves: int = 60
    nodes: int = 3000
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """Bits of each clash, with its proof in fractions if found; of each way out, whether they confirm it."""

    clashes: Mapping[int, Cases | None]
    ways: Mapping[int, bool]
    exhausted: bool
    complete: bool
    unsettled: int


def every_clash(sides: Sides, caps: Caps | None = None) -> Found:
    """Both lists of an impossible request, up to the caps."""
    caps = caps or Caps()
    guide = _Guide(sides, caps)
    clashes, ways, exhausted = _listed(guide)
    proofs = {bits: None if guide.late else proved(sides, bits, caps) for bits in _sorted(clashes)}
    sure = {bits: not guide.late and answered(sides, bits, ways[bits]) for bits in _sorted(ways)}
    complete = exhausted and all(sure.values()) and all(proofs.values()) and _dual(clashes, [*ways])
    return Found(proofs, sure, exhausted, complete, len(guide.blocked))


def _listed(guide: _Guide) -> tuple[list[int], dict[int, Values], bool]:
    clashes: list[int] = []
    ways: dict[int, Values] = {}
    size = 0
    while not guide.spent and max(len(clashes), len(ways)) < guide.caps.found:
        try:
            tried = smallest_new(clashes, [*ways, *guide.blocked], size)
        except TooManyError:
            break
        if tried is None:
            return clashes, ways, not guide.blocked
        size = tried.bit_count()
        rest = guide.sides.everything & ~tried
        answer = guide.possible(rest)
        if answer is None:
            guide.blocked.append(tried)
        elif answer:
            ways[tried] = guide.values[rest]
        else:
            clashes.append(guide.shrunk(rest))
    return clashes, ways, False


def _dual(clashes: Sequence[int], ways: Sequence[int]) -> bool:
    try:
        return are_dual(clashes, ways)
    except TooManyError:
        return False


def _sorted(family: Sequence[int] | Mapping[int, object]) -> list[int]:
    """Smaller sets first, then those given up sooner."""
    return sorted(
        family, key=lambda bits: (bits.bit_count(), [i for i in range(bits.bit_length()) if bits >> i & 1])
    )


@dataclass
class _Guide:
    """What HiGHS says of sets of sides; `values` are its answers, by set."""

    sides: Sides
    caps: Caps
    checks: int = 0
    blocked: list[int] = field(default_factory=list)
    values: dict[int, Values] = field(default_factory=dict)
    known: dict[int, bool | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._starts = time.monotonic()
        model = self.sides.model.with_cost({}, "min")
        self._limits = {row.name: (row.lower, row.upper) for row in model.rows}
        self._whole, self._plain = Session(model), Session(model.relaxed())
        self._at = {id(self._whole): self.sides.everything, id(self._plain): self.sides.everything}

    @property
    def spent(self) -> bool:
        return self.checks >= self.caps.checks or self._past(0.6)

    @property
    def late(self) -> bool:
        return self._past(0.85)

    def _past(self, share: float) -> bool:
        seconds = self.caps.seconds
        return seconds is not None and time.monotonic() > self._starts + share * seconds

    def possible(self, kept: int) -> bool | None:
        """Whether these sides hold together; None when the solver could not tell."""
        if kept not in self.known:
            self.checks += 1
            self.known[kept] = self._asked(kept)
        return self.known[kept]

    def _asked(self, kept: int) -> bool | None:
        answer = self._at_sides(self._whole, kept).solve(Limits(None, self.caps.nodes))
        if answer.has_values:
            self.values[kept] = dict(answer.values)
        return False if answer.outcome is Outcome.INFEASIBLE else True if answer.has_values else None

    def _at_sides(self, session: Session, kept: int) -> Session:
        changed = kept ^ self._at[id(session)]
        self._at[id(session)] = kept
        for i, rows in enumerate(self.sides.rows):
            if changed >> i & 1:
                for name in sorted(rows):
                    low, high = self._limits[name] if kept >> i & 1 else (None, None)
                    session.move_row(name, low, high)
        return session

    def shrunk(self, kept: int) -> int:
        """A minimal clash within these sides, as far as the solver can tell: those given up first stay in."""
        kept = self._pointed_at(kept)
        order = [1 << i for i in range(len(self.sides.sides)) if kept >> i & 1]
        return _quick(lambda bits: self.possible(bits) is not False, 0, True, order)

    def _pointed_at(self, kept: int) -> int:
        """The sides that the sum of a continuous contradiction uses, where there is one."""
        answer = self._at_sides(self._plain, kept).solve(Limits(None, None))
        if answer.outcome is not Outcome.INFEASIBLE or not answer.ray:
            return kept
        named = frozenset(name for name, by in answer.ray.items() if abs(by) > 1e-9)
        fewer = kept & self.sides.bits_of(named)
        return fewer if fewer != kept and self.possible(fewer) is False else kept


def _quick(possible: Callable[[int], bool], base: int, fresh: bool, order: Sequence[int]) -> int:
    """Divide and conquer (U. Junker, AAAI 2004): a minimal impossible set from the front of `order`."""
    if fresh and not possible(base):
        return 0
    if len(order) <= 1:
        return sum(order)
    half = len(order) // 2
    front, back = order[:half], order[half:]
    from_back = _quick(possible, base | sum(front), True, back)
    return from_back | _quick(possible, base | from_back, bool(from_back), front)


def proved(sides: Sides, bits: int, caps: Caps) -> Cases | None:
    """The contradiction of these sides in exact fractions, summed up again; None within the caps."""
    part = sides.part(bits)
    found = prove_infeasible_by_cases(part, Relaxer(), max_leaves=caps.leaves, pivots=1000)
    return found if isinstance(found, Cases) and covers(part, found) else None


def answered(sides: Sides, given_up: int, values: Values) -> bool:
    """Whether the rest has an exact answer near this one."""
    return held_answer(sides.part(sides.everything & ~given_up), values) is not None


def told(sides: Sides, bits: int, proof: Cases | None, rules: Sequence[Rule]) -> Clash:
    """A clash with its proof in words and with the rules it uses that are never given up."""
    members: tuple[RuleSide, ...] = sides.chosen(bits)
    if proof is None:
        return Clash(members)
    part, proof = cut_down(sides.part(bits), proof)
    ids = {row.rule for row in part.rows} - {member.rule.head.id for member in members}
    always = tuple(rule for rule in rules if rule.head.id in ids)
    return Clash(members, always, True, sum_in_words(part, proof), _titles(part, split_on(proof)))


def _titles(part: Model, names: Sequence[str]) -> tuple[str, ...]:
    title = {var.name: var.title or var.name for var in part.vars}
    return tuple(title[name] for name in names)
