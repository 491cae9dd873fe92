"""Every minimal conflict and every minimal cure of a linear model, smallest cures first.

A cure is sought as a smallest set that meets every conflict known so far. What is left without it has an
answer: the cure is minimal. Or it has none: it holds a further conflict. When no set is left to try, the
conflicts and the cures are each other's minimal meeting sets, and both lists are complete (M. H. Liffiton,
K. A. Sakallah, Journal of Automated Reasoning 40 (2008) 1-33).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from optimiser.certify.proof import Cases, Feasible
from optimiser.explain.deciding import Decision, Judge
from optimiser.explain.hitting import TooManyError, are_dual, smallest_new
from optimiser.explain.sides import Member, split_on, used
from optimiser.model.rows import Model


@dataclass(frozen=True, slots=True)
class Clash:
    """Members that cannot hold together, with what always holds; `minimal`: each one is needed, proved.

    `part` is the model with only these, `proof` refutes it, `split` are the variables whose whole numbers
    it needs, `always` the limits that always hold and that it uses.
    """

    members: tuple[Member, ...]
    part: Model
    proof: Cases
    minimal: bool
    split: tuple[str, ...]
    always: tuple[Member, ...]


@dataclass(frozen=True, slots=True)
class Cure:
    """Members to drop; `values` is an exact answer to what is left."""

    members: tuple[Member, ...]
    values: Mapping[str, Fraction]


@dataclass(frozen=True, slots=True)
class Lists:
    """Conflicts and cures, smaller ones first; `complete` only when the duality was checked both ways.

    `unsettled`: parts of the model for which neither an answer nor a proof was found.
    """

    clashes: tuple[Clash, ...]
    cures: tuple[Cure, ...]
    complete: bool
    unsettled: int


@dataclass(slots=True)
class _Found:
    """`blocked`: sets without which nothing could be decided."""

    judge: Judge
    clashes: dict[int, tuple[Cases, bool]] = field(default_factory=dict)
    cures: dict[int, Mapping[str, Fraction]] = field(default_factory=dict)
    blocked: list[int] = field(default_factory=list)
    size: int = 0


def all_clashes(judge: Judge) -> Lists:
    """Both lists of an impossible model, up to the judge's caps."""
    found = _Found(judge)
    exhausted = False
    while not judge.spent and not _enough(found):
        try:
            tried = smallest_new([*found.clashes], [*found.cures, *found.blocked], found.size)
        except TooManyError:
            break
        if tried is None:
            exhausted = True
            break
        found.size = tried.bit_count()
        _settle(found, tried)
    return _lists(found, exhausted)


def _enough(found: _Found) -> bool:
    return max(len(found.clashes), len(found.cures)) >= found.judge.caps.found


def _settle(found: _Found, tried: int) -> None:
    """One set to drop: it is a cure, or what is left holds a new conflict."""
    rest = found.judge.everything & ~tried
    answer = found.judge.decide(rest)
    if isinstance(answer, Feasible):
        found.cures[tried] = answer.values
    elif answer is None:
        found.blocked.append(tried)
    else:
        start = (rest, answer) if found.clashes else found.judge.nearer(rest, answer)
        bits, proof, minimal = shrink(found.judge, *start)
        found.clashes[bits] = (proof, minimal)


def shrink(judge: Judge, kept: int, proof: Cases) -> tuple[int, Cases, bool]:
    """A minimal conflict inside an impossible set: each member dropped in turn stays out when it can.

    Whole numbers are dropped first, then limits of variables, then rows from the last one on. False with it
    when the last word on some member is missing.
    """
    kept &= judge.bits(used(judge.part(kept), proof))
    minimal = True
    for i in _order(judge):
        bit = 1 << i
        if not kept & bit:
            continue
        answer: Decision = None if judge.spent else judge.decide(kept & ~bit)
        if isinstance(answer, Cases):
            kept &= ~bit & judge.bits(used(judge.part(kept & ~bit), answer))
            proof = answer
        elif answer is None:
            minimal = False
    return kept, proof, minimal


def _order(judge: Judge) -> list[int]:
    place = {"whole": 0, "bound": 1, "row": 2}
    return sorted(range(len(judge.members)), key=lambda i: (place[judge.members[i].what], -i))


def _lists(found: _Found, exhausted: bool) -> Lists:
    judge = found.judge
    sure = exhausted and not found.blocked and all(minimal for _, minimal in found.clashes.values())
    try:
        complete = sure and are_dual([*found.clashes], [*found.cures])
    except TooManyError:
        complete = False
    apart = [bits for bits in found.clashes if not any(o != bits and not o & ~bits for o in found.clashes)]
    clashes = [_clash(judge, bits, *found.clashes[bits]) for bits in sorted(apart, key=_by_size)]
    cures = [Cure(judge.chosen(bits), found.cures[bits]) for bits in sorted(found.cures, key=_by_size)]
    return Lists(tuple(clashes), tuple(cures), complete, judge.undecided)


def _by_size(bits: int) -> tuple[int, list[int]]:
    return bits.bit_count(), [i for i in range(bits.bit_length()) if bits >> i & 1]


def _clash(judge: Judge, bits: int, proof: Cases, minimal: bool) -> Clash:
    part = judge.part(bits)
    always = [
        member for member in used(part, proof) if member.what != "whole" and not bits & judge.bits([member])
    ]
    ordered = sorted(always, key=lambda m: (m.what != "row", m.name, m.side))
    return Clash(judge.chosen(bits), part, proof, minimal, split_on(proof), tuple(ordered))
