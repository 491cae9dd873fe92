"""Carbomer out and xanthan in, and the other way round with what neutralises it: answered with a dose."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from optimiser.checks.judge import judge
from optimiser.domain.outcome import Measure, Proposal
from optimiser.domain.rules import Acidity, Level, Needs, Thickness
from optimiser.requests.close import close
from optimiser.requests.options import Options
from tests.workflows.desk import asked, copied, is_sound, proposed, put, shares, table_in

F = Fraction
GEL = """name: Gel
product: {use: rinse-off, area: body, age: adult, form: gel}
phases:
  - phase: A
    lines:
      - {propanediol: 10 %}
      - {GUM: DOSE %}
  - phase: B
    lines:
      - {water: to 100 %}
      - {phenoxy-ehg: 1 %}
  - phase: C
    lines:
      - {sodium-hydroxide-10: "to pH 6, at most 1 %"}
targets:
  - thickness: {within: 40 % of base}
  - ph: {between: [5.5, 7.6]}
"""
SWAP = "name: Swap\ninstead_of:\n  - {out: GONE, use: CAME}\n"


def gel(folder: Path, gum: str, dose: str, more: str = "") -> Path:
    put(folder, "formulas/gel.yaml", GEL.replace("GUM", gum).replace("DOSE", dose) + more)
    other = "xanthan" if gum == "carbomer" else "carbomer"
    put(folder, "briefs/swap.yaml", SWAP.replace("GONE", gum).replace("CAME", other))
    return folder


def thick(proposal: Proposal) -> Measure:
    (found,) = [measure for measure in proposal.measures if measure.name.startswith("thickness at ")]
    return found


def test_xanthan_goes_and_carbomer_comes_with_its_neutraliser(tmp_path: Path) -> None:
    proposal, request = proposed(table_in(gel(copied(tmp_path), "xanthan", "1.2")), "gel", "swap")
    is_sound(proposal, request)
    now, body = shares(proposal), thick(proposal)
    assert "xanthan" not in now
    assert F(1, 10) <= now["carbomer"] < F(3, 10)
    assert body.base is not None
    assert body.value is not None
    assert F(6, 10) * body.base <= body.value <= F(14, 10) * body.base
    (needs,) = [v for v in proposal.verdicts if isinstance(v.rule, Needs) and "carbomer" in v.rule.head.id]
    assert needs.met
    (window,) = [v for v in proposal.verdicts if isinstance(v.rule, Acidity)]
    assert window.met
    assert "before the adjuster" in window.note
    told = {one.name: one.value for one in proposal.measures}
    before, after = (told[f"pH {when}, predicted"] for when in ("before the adjuster", "with all of it"))
    assert before is not None
    assert after is not None
    assert before < 5 < after, "lye raises the pH"
    assert any("1.2 % Xanthan gum thickens" in one.text for one in proposal.on_paper)


def test_carbomer_goes_and_xanthan_comes(tmp_path: Path) -> None:
    proposal, request = proposed(table_in(gel(copied(tmp_path), "carbomer", "0.1")), "gel", "swap")
    is_sound(proposal, request)
    now = shares(proposal)
    assert "carbomer" not in now
    assert F(6, 10) < now["xanthan"] <= F(3, 2)


def test_the_predicted_thickness_takes_the_place_of_the_carried_level(tmp_path: Path) -> None:
    folder = gel(copied(tmp_path), "xanthan", "1.2")
    put(
        folder, "formulas/plain.yaml", GEL.replace("GUM", "xanthan").replace("DOSE", "1").split("targets:")[0]
    )
    put(folder, "briefs/body.yaml", "name: Body\ntargets:\n  - thickness: {within: 40 % of base}\n")
    put(folder, "briefs/none.yaml", "name: None\nkeep:\n  - ingredient: propanediol\n")
    body, plain = (asked(table_in(folder), "plain", name).request for name in ("body", "none"))
    assert [type(r) for r in body.rules if isinstance(r, Thickness | Level)] == [Thickness]
    assert [type(r) for r in plain.rules if isinstance(r, Thickness | Level)] == [Level]
    assert "level of thickening" not in {pull.name for pull in body.pulls}
    assert "level of thickening" in {pull.name for pull in plain.pulls}


def test_salt_thins_the_carbomer_and_lye_beyond_the_window_is_no_salt(tmp_path: Path) -> None:
    """Salt of 0.2 % of the water halves it and more; twice the ceiling of lye is not twice the salt."""
    found, salted = [], "      - {sodium-chloride: 0.2 %}\n"
    for number, (ceiling, salt) in enumerate((("2", ""), ("4", ""), ("2", salted))):
        text = GEL.replace("GUM", "carbomer").replace("DOSE", "0.3")
        text = text.replace("at most 1 %", f"at most {ceiling} %")
        text = text.replace("      - {phenoxy-ehg: 1 %}\n", "      - {phenoxy-ehg: 1 %}\n" + salt)
        folder = copied(tmp_path / str(number))
        put(folder, "formulas/gel.yaml", text)
        sources = table_in(folder)
        request = close(sources, sources.worktable.formulas["gel"], None, Options())
        verdicts = judge(request, request.base)
        (value,) = [one.value for one in verdicts if isinstance(one.rule, Thickness)]
        assert value is not None
        found.append(float(value))
    assert abs(found[1] / found[0] - 1) < 0.02
    assert 0.2 < found[2] / found[0] < 0.5


def test_outside_the_ph_that_keeps_its_body_carbomer_is_set_aside(tmp_path: Path) -> None:
    folder = gel(copied(tmp_path), "xanthan", "1.2")
    text = GEL.replace("GUM", "xanthan").replace("DOSE", "1.2").replace("[5.5, 7.6]", "[4, 7.6]")
    put(folder, "formulas/gel.yaml", text)
    put(folder, "briefs/other.yaml", "name: Other\nleave_out:\n  - ingredient: xanthan\n")
    request = asked(table_in(folder), "gel", "other").request
    (why,) = [one.reason for one in request.set_aside if one.ingredient == "carbomer"]
    assert "keeps its body only between pH 5 and 8" in why
