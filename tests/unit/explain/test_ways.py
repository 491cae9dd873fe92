"""A small clash with what always stands in it, and a way out: which limit moves how far, and the formula."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.domain.lists import RuleSide
from optimiser.domain.request import Request
from optimiser.domain.rules import Absent, Amount, Rule, Share
from optimiser.domain.selector import Pick
from optimiser.explain.every import every_clash, told
from optimiser.explain.every_sides import sides_in
from optimiser.explain.every_ways import way_out
from optimiser.explain.rest import Rest
from optimiser.solver.interface import Limits
from tests.points import clays, only
from tests.small import fr, head, request

CLAYS = Pick("group", "clay")
BAND = Share(head("clay", "Clay is 10 to 20 %."), CLAYS, fr(10), fr(20))
KAOLIN = Amount(head("kaolin", "Kaolin is at least 25 %."), "kaolin", fr(25))
NO_GUM = Absent(head("none", "No gum."), Pick("group", "gum"))
GUM = Amount(head("gum", "Xanthan is at least 1 %."), "xanthan", fr(1))


def mud(*rules: Rule) -> Request:
    asked = request(formula=clays(kaolin="20"))
    return replace(only(asked, ["water", "kaolin", "illite", "xanthan"]), rules=rules, pulls=())


def test_a_clash_names_the_rules_of_its_proof_that_are_never_given_up() -> None:
    """Clay is at most 20 % against a law on kaolin; the gum has no part in it."""
    law = replace(KAOLIN, head=replace(KAOLIN.head, basis="law"))
    asked = mud(BAND, law, GUM)
    sides = sides_in(asked, Rest(asked, Limits()).model)
    found = every_clash(sides)
    ((bits, proof),) = found.clashes.items()
    clash = told(sides, bits, proof, asked.rules)
    assert [(member.rule, member.side) for member in clash.members] == [(BAND, "high")]
    assert (clash.always, clash.certified) == ((law,), True)
    assert clash.proof[-1].startswith("together")
    bare = told(sides, bits, None, asked.rules)
    assert (bare.members, bare.always, bare.certified, bare.proof) == (clash.members, (), False, ())


@pytest.mark.parametrize(
    ("rules", "moving", "words", "holds"),
    [
        ((BAND, KAOLIN), [(BAND, "high")], ["at most 25 % clay would do."], {"kaolin": "25"}),
        ((BAND, KAOLIN), [(KAOLIN, "low")], ["at least 20 % Kaolin would do."], {"kaolin": "20"}),
        (
            (replace(BAND, high=fr(14)), replace(KAOLIN, high=fr(25))),
            [(KAOLIN, "low")],
            ["at least 14 % Kaolin would do."],
            {"kaolin": "14"},
        ),
        ((NO_GUM, GUM), [(GUM, "low")], ["none need be asked."], {"kaolin": "20"}),
        ((NO_GUM, GUM), [(NO_GUM, "all")], [], {"xanthan": "1"}),
        (
            (NO_GUM, GUM, BAND, KAOLIN),
            [(NO_GUM, "all"), (KAOLIN, "low")],
            ["at least 20 % Kaolin would do."],
            {"xanthan": "1", "kaolin": "20"},
        ),
    ],
)
def test_the_named_side_moves_as_far_as_it_must(
    rules: tuple[Rule, ...], moving: list[tuple[Rule, str]], words: list[str], holds: dict[str, str]
) -> None:
    members = [RuleSide(rule, side, rule.head.sentence) for rule, side in moving]  # type: ignore[arg-type]
    found = way_out(Rest(mud(*rules), Limits()), members, True)
    asked = [rule.head.sentence[:-1] for rule, side in moving if side != "all"]
    told = [f"{was}: {now}" for was, now in zip(asked, words, strict=True)]
    given = ["Give up: No gum."] if (NO_GUM, "all") in moving else []
    assert list(found.limits) == [*told, *given]
    assert found.certified
    lines = dict(found.lines)
    assert {name: lines[name] for name in holds} == {name: fr(share) for name, share in holds.items()}


def test_what_one_side_cannot_heal_has_no_formula() -> None:
    found = way_out(
        Rest(mud(BAND, KAOLIN, NO_GUM, GUM), Limits()), [RuleSide(KAOLIN, "low", "Kaolin.")], False
    )
    assert (found.limits, found.lines, found.certified) == ((), (), False)
