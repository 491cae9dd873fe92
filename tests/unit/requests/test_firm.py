"""Which rules of a request are held firm, how that is worded, and what it does not reach."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.domain.firm import Firm
from optimiser.domain.rules import Acidity, FreeLiquid, Head, Level, Mean, Ratio, Rule, Share, Thickness
from optimiser.domain.selector import Pick
from optimiser.requests.firm import held_firm, in_words, notes
from tests.small import CLAY, LAW, fr, head, request

TWO = Firm(Fraction(2))


def heads(firm: Firm, *rules: Rule) -> dict[str, Head]:
    asked = replace(request(), rules=rules)
    return {rule.head.id: rule.head for rule in held_firm(asked, firm).rules}


def test_every_holds_what_was_asked_for_at_its_worst() -> None:
    level = Level(head("level", "Level of thickening: at least 1."), "thickening", fr(1))
    thick = Thickness(head("thick"), fr(1), predicted=True)
    window = Acidity(head("ph"), fr(4), fr(5), predicted=True)
    found = heads(Firm(), level, thick, window, CLAY, LAW)
    assert [found[name].surely for name in ("test#level", "test#thick", "test#ph")] == [True] * 3
    assert found["test#level"].sentence == "Level of thickening: at least 1, for every value in the data."
    assert not found["test#clay"].surely
    assert found["test#law"] == LAW.head


def test_a_count_holds_sums_and_leaves_predictions_alone() -> None:
    mean, wet = Mean(head("mean"), "solids", fr(1)), FreeLiquid(head("wet"), fr(1), predicted=True)
    thick, read = Thickness(head("thick"), fr(1), predicted=True), FreeLiquid(head("read"), fr(1))
    found = heads(TWO, mean, wet, thick, read)
    assert {name: one.off_at_once for name, one in found.items()} == {
        "test#mean": Fraction(2),
        "test#wet": Fraction(2),
        "test#thick": None,
        "test#read": None,
    }
    assert found["test#mean"].sentence.endswith(", with 2 numbers off at once.")


def test_wishes_are_held_firm_and_what_is_carried_is_not() -> None:
    wish = Mean(head("wish", basis="wish", rank=1), "solids", fr(1))
    carried = Mean(head("carried", basis="carried"), "solids", fr(1))
    sure = Mean(replace(head("sure"), surely=True), "solids", fr(1))
    found = heads(TWO, wish, carried, sure)
    assert found["test#wish"].off_at_once == 2
    assert found["test#carried"] == carried.head
    assert found["test#sure"] == sure.head


def test_the_request_says_how_firm_it_is() -> None:
    assert held_firm(request(), TWO).name == "test · firm with 2 numbers off at once"
    assert in_words(Firm(Fraction(1))) == "firm with 1 number off at once"
    assert in_words(Firm()) == "firm for every value in the data"


def test_what_firmness_does_not_reach_is_said() -> None:
    thick = Thickness(head("thick", "Thickness: at least 1 Pa.s."), fr(1), predicted=True)
    ratio = Ratio(head("ratio"), Pick("substance", "Aqua"), Pick("group", "clay"), fr(1))
    share = Share(head("share"), Pick("substance", "Aqua"), fr(1))
    carried = Mean(head("carried", basis="carried"), "solids", fr(1))
    asked = replace(request(), rules=(thick, ratio, share, carried))
    by_count = [note.about for note in notes(held_firm(asked, TWO))]
    assert by_count == ["test#thick", "share", "carried", "cost"]
    assert [note.about for note in notes(held_firm(asked, Firm()))] == ["share", "carried", "cost"]
    assert notes(asked) == ()
