"""What tests on explanations share: members in short, and every list from every subset there is."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.proof import Cases, Feasible
from optimiser.certify.verify import covers
from optimiser.explain.sides import Member, leaves_with_cases, without
from optimiser.model.rows import Model
from optimiser.solver.highs import relax
from optimiser.workflows.explain_model import ModelExplanation

Names = frozenset[str]


def short(member: Member) -> str:
    """`con1 lower`, `limit of x lower` or `whole`."""
    if member.what == "whole":
        return "whole"
    return f"{'limit of ' if member.what == 'bound' else ''}{member.name} {member.side}"


def names(members: Iterable[Member]) -> Names:
    return frozenset(short(member) for member in members)


def conflicts(found: ModelExplanation) -> set[Names]:
    return {names(clash.members) for clash in found.clashes}


def cures(found: ModelExplanation) -> set[Names]:
    return {names(cure.members) for cure in found.cures}


def new_limits(found: ModelExplanation) -> dict[str, str]:
    """The limits that would do alone, by member."""
    return {short(r.member): str(r.to) for r in found.repairs if r.verdict == "enough"}


def is_impossible(model: Model) -> bool:
    """Decided without the code under test; fails where neither an answer nor a proof is found."""
    found = prove_infeasible_by_cases(model, relax)
    assert isinstance(found, Cases | Feasible)
    return isinstance(found, Cases)


def by_brute_force(model: Model, members: Sequence[Member]) -> tuple[set[Names], set[Names]]:
    """Minimal conflicts and minimal cures, from every subset of the members."""
    refuted: list[Names] = []
    healed: list[Names] = []
    for size in range(len(members) + 1):
        for picked in itertools.combinations(members, size):
            these = names(picked)
            rest = [member for member in members if member not in picked]
            if not any(other <= these for other in refuted) and is_impossible(without(model, rest)):
                refuted.append(these)
            if not any(other <= these for other in healed) and not is_impossible(without(model, picked)):
                healed.append(these)
    return set(refuted), set(healed)


def check(found: ModelExplanation) -> None:
    """Every proof adds up in the model of its own members alone; every cure has an exact answer."""
    for clash in found.clashes:
        assert covers(clash.part, clash.proof)
        assert clash.minimal
        kept = {(m.what, m.name, m.side) for m in (*clash.members, *clash.always)}
        for _, terms in leaves_with_cases(clash.part, clash.proof):
            assert all(
                (t.what, t.name, t.side) in kept or (t.what == "bound" and t.name in clash.split)
                for t in terms
            )
        assert any(m.what == "whole" for m in clash.members) or not clash.split
    for cure in found.cures:
        assert not without(found.model, cure.members).violations(cure.values)
