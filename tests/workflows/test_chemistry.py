"""The chemistry of the demo: what the data leave open, and what dosing to a reading makes of it."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.outcome import Undecided
from optimiser.domain.request import Request
from optimiser.domain.rules import Acidity
from optimiser.science.acidity import PhResult, ph_range, solve_ph
from optimiser.science.charge import Buffer, ChargeProfile, Unknown
from optimiser.science.formula import profiles_for
from tests.workflows.desk import (
    FLAGSHIP,
    F,
    asked,
    changed,
    copied,
    demo,
    impossible,
    is_sound,
    proposed,
    put,
    shares,
    table_in,
    third_of,
)

MASK = {"kaolin": F(20), "bentonite": F(5)}
CEILING = F(6)
LOW, HIGH = 4.5, 5.5


def profiles() -> dict[str, ChargeProfile | Unknown]:
    names = ("water", "citric-acid-20", "sodium-benzoate", *MASK)
    known = demo().worktable.ingredients
    return profiles_for((known[name] for name in names), demo().constants)


def dosed(grams: Fraction, more: dict[str, Fraction] | None = None) -> dict[str, Fraction]:
    """The mask with so much citric acid 20 %, water making up 100."""
    parts = {**MASK, **(more or {}), "citric-acid-20": grams}
    return {**parts, "water": 100 - sum(parts.values(), F(0))}


def solved(amounts: dict[str, Fraction]) -> float:
    found: PhResult = solve_ph(amounts, profiles())
    assert found.ph is not None
    return found.ph


def spread(amounts: dict[str, Fraction]) -> tuple[float, float]:
    found = ph_range(amounts, profiles())
    assert found is not None
    return found


@pytest.mark.parametrize("more", [{}, {"sodium-benzoate": F("0.5")}])
def test_no_fixed_dose_of_acid_surely_does_for_twenty_kaolin_and_five_bentonite(
    more: dict[str, Fraction],
) -> None:
    for hundredths in range(0, 601, 5):
        low, high = spread(dosed(F(hundredths, 100), more))
        assert low < LOW or high > HIGH, hundredths


def test_between_those_doses_none_does_either() -> None:
    """The lowest and the highest pH both fall with the dose: past this one the first is always too low."""
    first = next(n for n in range(601) if spread(dosed(F(n, 100)))[0] < LOW)
    assert first > 0
    assert spread(dosed(F(first, 100)))[1] > HIGH + 0.5
    assert spread(dosed(F(first - 1, 100)))[1] > HIGH + 0.5


def test_the_dose_that_does_for_the_middle_values_leaves_three_units_open() -> None:
    grams = min((F(n, 100) for n in range(601)), key=lambda dose: abs(solved(dosed(dose)) - 5))
    low, high = spread(dosed(grams))
    assert low < LOW - 0.3
    assert high > HIGH + 1


def test_dosing_to_a_reading_does_for_every_value_of_the_data() -> None:
    """Slope and own pH of both clays in quarters of their ranges: some dose reads 5.0 each time."""
    real = profiles()
    for quarters in ((a, b, c, d) for a in (0, 2, 4) for b in (0, 4) for c in (0, 2, 4) for d in (0, 4)):
        chosen = dict(real)
        for place, name in enumerate(MASK):
            clay = real[name]
            assert isinstance(clay, ChargeProfile)
            slope, own = (
                ends[0] + (ends[2] - ends[0]) * quarters[2 * place + at] / 4
                for at, ends in enumerate((clay.buffers[0].slope, clay.buffers[0].own_ph))
            )
            chosen[name] = ChargeProfile(buffers=(Buffer((slope,) * 3, (own,) * 3),), water=clay.water)
        low, high = F(0), CEILING
        for _ in range(40):
            middle = (low + high) / 2
            found = solve_ph(dosed(middle), chosen).ph
            assert found is not None
            low, high = (middle, high) if found > 5 else (low, middle)
        last = solve_ph(dosed(high), chosen).ph
        assert last is not None
        assert LOW <= last <= HIGH, quarters


def window(request: Request) -> Acidity:
    (rule,) = [rule for rule in request.rules if isinstance(rule, Acidity)]
    return rule


def reached(request: Request, amounts: dict[str, Fraction]) -> tuple[float, float]:
    """(lowest pH with none of the dosed lines, highest with all of them) by the data, reckoned here."""
    found = profiles_for(request.ingredients.values(), request.substances)
    bare = {name: share for name, share in amounts.items() if name not in window(request).adjusters}
    without, with_all = ph_range(bare, found), ph_range(amounts, found)
    assert without is not None
    assert with_all is not None
    return without[0], with_all[1]


BRIEFS = ("no-strong-clay", "more-clay", "propanediol", "cheapest", "another-thickener", "fewest-ingredients")


@pytest.mark.parametrize("brief", BRIEFS)
def test_the_flagship_keeps_its_window_at_the_worst_values(brief: str) -> None:
    proposal, request = proposed(demo(), FLAGSHIP, brief)
    rule = window(request)
    assert rule.predicted
    assert rule.head.at_worst
    is_sound(proposal, request)
    foot, top = reached(request, shares(proposal))
    assert foot >= float(rule.low) + 0.1 - 1e-6
    assert top <= float(rule.high) - 0.1 + 1e-6


def test_without_the_acid_solution_the_dry_acid_is_dosed_as_much() -> None:
    """5 % of a 20 % solution is 1 % of the acid."""
    proposal, request = proposed(demo(), FLAGSHIP, leave_out=("citric-acid-20",))
    assert "citric-acid-20" not in shares(proposal)
    assert F("0.8") <= shares(proposal)["citric-acid"] <= F("1.2")
    (line,) = [line for line in proposal.lines if line.dosed]
    assert line.ingredient == "citric-acid"
    assert line.dosed is not None
    assert line.dosed.to.startswith("pH")
    foot, top = reached(request, shares(proposal))
    assert foot >= 4.6 - 1e-6
    assert top <= 4.9 + 1e-6


def test_the_dry_acid_is_no_newcomer_for_the_base_has_it_dissolved() -> None:
    _, request = proposed(demo(), FLAGSHIP, leave_out=("citric-acid-20",))
    assert "citric-acid" not in request.newcomers


NO_ACID = """\
name: No acid
leave_out:
  - {role: acid-adjuster}
  - {role: alkali-adjuster}
  - {role: buffering}
targets:
  - newcomers: {at_most: 0}
    name: Nothing new
"""
MUCH = """\
name: Much clay
targets:
  - share: {ingredient: bentonite}
    at_least: 9.5 %
    name: Much bentonite
  - newcomers: {at_most: 0}
    name: Nothing new
"""


def test_without_any_acid_the_window_is_part_of_the_conflict(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/no-acid.yaml", NO_ACID)
    (conflict, *_) = impossible(table_in(folder), FLAGSHIP, "no-acid").conflicts
    assert conflict.certified
    assert {rule.head.id.split("#")[1] for rule in conflict.rules} == {
        "Nothing new",
        "no role acid-adjuster",
        "pH 4.5 to 5.0",
    }


def read_here(folder: Path, *names: str) -> None:
    """The remembered figures of these clays as if they had been read here."""

    def known(text: str) -> str:
        rows = text.splitlines()
        for at, row in enumerate(rows):
            owner, figure = row.split(",")[:2]
            if owner in names and figure in ("buffer_slope", "powder_ph"):
                rows[at] = row.replace("memory: ", "measured: ").replace("published: ", "measured: ")
        return "\n".join(rows) + "\n"

    changed(folder, "properties.csv", known)


def test_more_swelling_clay_than_the_acid_can_answer_is_told_with_how_much_would_do(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/much.yaml", MUCH)
    read_here(folder, "bentonite", "kaolin")
    found = impossible(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "much")
    (conflict, *_) = found.conflicts
    assert conflict.certified
    assert {"Much bentonite", "pH 4.5 to 5.0"} <= {rule.head.id.split("#")[1] for rule in conflict.rules}
    (cure,) = [one for one in found.concessions if one.rule.head.id.endswith("#Much bentonite")]
    enough = cure.enough.removeprefix("at least ")
    put(folder, "briefs/much.yaml", MUCH.replace("9.5 %", enough))
    proposal, request = proposed(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "much")
    had = shares(proposal)
    assert F(5) < had["bentonite"] < F("9.5")
    assert reached(request, had)[1] <= 4.9 + 1e-6
    assert reached(request, {**had, "bentonite": F("9.5")})[1] > 5.1


def test_a_remembered_slope_proves_nothing_so_it_is_undecided_and_says_on_what(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/much.yaml", MUCH)
    outcome = asked(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "much")
    assert isinstance(outcome, Undecided)
    assert any("buffering of Bentonite is from memory" in remark.text for remark in outcome.rests_on)


REACHES = "name: Reaches\ntargets:\n  - reaches_water: [bacteria, yeast, mould]\n    name: Reaches\n"


NOTHING_NEW = "  - newcomers: {at_most: 0}\n    name: N\n"


def test_what_reaches_the_water_holds_by_its_middle_values(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/reaches.yaml", REACHES)
    proposal, request = proposed(table_in(folder), FLAGSHIP, "reaches")
    is_sound(proposal, request)
    told = [v for v in proposal.verdicts if v.rule.head.id.startswith("briefs/reaches#Reaches")]
    assert len(told) == 3
    assert all(v.met and v.value is not None and v.value >= 1 for v in told)
    assert all("assumed" in v.note for v in told)


def test_surely_and_nothing_new_rests_on_assumed_binding_so_it_is_undecided_and_says_on_what(
    tmp_path: Path,
) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/reaches.yaml", f"{REACHES}    surely: yes\n{NOTHING_NEW}")
    outcome = asked(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "reaches")
    assert isinstance(outcome, Undecided)
    assert "bentonite" in {remark.about for remark in outcome.rests_on}
    assert any("preservative binding of Bentonite is assumed" in remark.text for remark in outcome.rests_on)


def test_measured_binding_at_its_worst_proves_it(tmp_path: Path) -> None:
    """The same numbers from a filtrate, and no newcomers: now nothing is left open."""
    folder = copied(tmp_path)
    put(
        folder,
        "briefs/reaches.yaml",
        f"{REACHES}    surely: yes\n{NOTHING_NEW}",
    )
    path = folder / "properties.csv"
    text = path.read_text(encoding="utf-8")
    rows = [
        line.replace("assumed:", "measured here:") if ",preservative_binding," in line else line
        for line in text.splitlines()
    ]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    found = impossible(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "reaches")
    assert any("Reaches" in rule.head.id for rule in found.conflicts[0].rules)
