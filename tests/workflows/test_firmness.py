"""Firm requests on the demo: what they cost, that they are kept when saved, and batches counted."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from optimiser.checks.amounts import Amounts
from optimiser.checks.measures import middle, spread
from optimiser.domain.firm import Firm
from optimiser.domain.outcome import Impossible, Proposals
from optimiser.domain.rules import Level, Mean
from optimiser.loading.proposals import read_proposal
from optimiser.requests.firm import is_held
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose, request_for
from optimiser.workflows.save import save_proposals
from tests.workflows.desk import FLAGSHIP, asked, copied, demo, is_sound, put, slots, table_in, third_of


def test_firm_for_every_value_holds_at_both_ends_of_the_data() -> None:
    outcome = asked(demo(), FLAGSHIP, firm="every", tried=300)
    assert isinstance(outcome, Proposals)
    (proposal,) = outcome.proposals
    is_sound(proposal, outcome.request)
    now = Amounts(tuple(sorted(slots(proposal).items())), outcome.request.ingredients)
    base = Amounts(tuple(sorted(outcome.request.base.items())), outcome.request.ingredients)
    held = [r for r in outcome.request.rules if is_held(r) and isinstance(r, Level | Mean)]
    assert held
    for rule in held:
        low, high = spread(rule, now)
        assert rule.low is not None
        assert rule.high is not None
        assert rule.low <= low <= middle(rule, now) <= high <= rule.high
    assert any(not rule.low <= spread(rule, base)[0] for rule in held if rule.low is not None)
    assert outcome.firmness is not None
    plain, firm = outcome.firmness.prices
    assert plain.firm is None
    assert firm.firm == Firm()
    assert (plain.departure or 0) <= (firm.departure or 0)
    (batches,) = outcome.batches
    assert batches.tried == 300
    assert not {one.rule.head.id for one in batches.missed} & {rule.head.id for rule in held}


def test_a_firm_formula_meets_its_rules_more_often() -> None:
    plain, firm = (asked(third_of(demo(), FLAGSHIP), FLAGSHIP, firm=how, tried=300) for how in ("", "1"))
    assert isinstance(plain, Proposals)
    assert isinstance(firm, Proposals)
    assert plain.firmness is None
    assert firm.batches[0].met > plain.batches[0].met


def test_where_no_firm_formula_exists_the_middle_one_is_told() -> None:
    outcome = asked(third_of(demo(), "rose-serum"), "rose-serum", firm="every")
    assert isinstance(outcome, Impossible)
    assert outcome.conflicts[0].certified
    assert any(is_held(rule) for rule in outcome.conflicts[0].rules)
    assert outcome.firmness is not None
    assert [price.possible for price in outcome.firmness.prices] == [True, False]


def test_a_brief_asks_and_the_command_line_beats_it(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/firm.yaml", "name: Firm\nfirm: {off_at_once: 2}\n")
    put(folder, "briefs/more.yaml", "name: More\nalso: [firm]\n")
    sources = table_in(folder)
    assert sources.worktable.briefs["firm"].firm == Firm(Fraction(2))
    for said, firm in (({}, Firm(Fraction(2))), ({"firm": "every"}, Firm())):
        wanted = ask(sources, FLAGSHIP, {"briefs": ["more"], **said})
        assert request_for(sources, wanted).firm == firm


def test_a_saved_firm_proposal_knows_how_firm_it_is(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    sources = table_in(folder)
    plain = ask(sources, "sunflower-balm", {})
    outcome = propose(sources, plain)
    assert isinstance(outcome, Proposals)
    for said in ("every", "1.5"):
        wanted = ask(sources, "sunflower-balm", {"firm": said})
        (path,) = save_proposals(outcome, sources, wanted, folder)
        saved, problems = read_proposal(path, sources.worktable, sources.vocabulary)
        assert not problems
        assert saved is not None
        assert saved.firm == wanted.options.firm
        path.unlink()
