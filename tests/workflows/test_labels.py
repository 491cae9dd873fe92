"""The label: names in the order a place wants, dates that no lot gives the lie to, blanks for people."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.outcome import Allergen
from optimiser.errors import OptimiserError, UsageError
from optimiser.export.label import label_dict, label_html, label_text
from optimiser.law.ingredient_list import listed
from optimiser.loading.reference import load_label_rules
from optimiser.units.net_content import net_content
from optimiser.workflows.batches import open_batch
from optimiser.workflows.keeping import months_later
from optimiser.workflows.label import LabelWanted, make_label, write_labels
from tests.workflows.desk import FLAGSHIP, F, changed, copied, demo, table_in

EU, US = load_label_rules()["EU"], load_label_rules()["US"]


def thing(name: str, kind: str = "active", *parts: tuple[str, str], inci: str = "") -> Ingredient:
    made_of = tuple(Part(part, F(share), F(share), F(share)) for part, share in parts) or None
    if made_of is None and kind != "extract":
        made_of = (Part(inci or name, F(100), F(100), F(100)),)
    return Ingredient(name.lower(), name, inci or name, kind, "group", (), composition=made_of)


def names(found: object) -> list[str]:
    return [one.name for one in found[0]]  # type: ignore[index]


def test_exactly_one_per_cent_is_in_the_free_tail_in_the_states_and_not_in_europe() -> None:
    lines = [(thing("Talc"), F(98)), (thing("Zinc"), F(1)), (thing("Mica"), F(1))]
    for rules, free in ((EU, False), (US, True)):
        found, _ = listed(lines, (), rules)
        assert [one.tail for one in found] == [False, free, free]


def test_colourants_stand_last_whatever_their_share() -> None:
    lines = [(thing("CI 77491", "pigment"), F(30)), (thing("Talc"), F(69)), (thing("Zinc"), F(1))]
    found, _ = listed(lines, (), EU)
    assert names((found,)) == ["Talc", "Zinc", "CI 77491"]
    assert names((listed(lines, (), US)[0],))[-1] == "Iron Oxides"


def test_blends_are_split_and_what_is_the_same_is_merged() -> None:
    blend = thing("Blend", "salt", ("Glycerin", "60"), ("Aqua", "40"))
    lines = [(blend, F(50)), (thing("Glycerin", "polyol"), F(15)), (thing("Aqua", "water"), F(35))]
    found, _ = listed(lines, (), EU)
    assert [(one.name, one.percent) for one in found] == [("Aqua", F(55)), ("Glycerin", F(45))]
    assert names((listed(lines, (), US)[0],))[0] == "Water"


def test_an_essential_oil_stands_whole_and_its_allergens_only_above_their_threshold() -> None:
    oil = thing("Lavender", "essential-oil", ("Linalool", "35"), ("Limonene", "1"), inci="Lavandula Oil")
    above = Allergen("Linalool", F("0.07"), F("0.01"))
    below = Allergen("Limonene", F("0.002"), F("0.01"))
    found, _ = listed([(thing("Aqua", "water"), F("99.8")), (oil, F("0.2"))], (above, below), EU)
    assert names((found,)) == ["Aqua", "Lavandula Oil", "Linalool"]


def test_an_oil_that_is_itself_listed_stands_once_under_the_name_of_its_group() -> None:
    oil = thing("Orange", "essential-oil", ("Limonene", "95"), inci="Citrus Dulcis Oil")
    lines = [(thing("Aqua", "water"), F("99.7")), (oil, F("0.3"))]
    named_as = {"citrus dulcis oil": "Citrus Oil"}
    for threshold, name in ((F("0.001"), "Citrus Oil"), (F("0.5"), "Citrus Dulcis Oil")):
        held = Allergen("Citrus Oil", F("0.3"), threshold)
        found, _ = listed(lines, (held,), EU, named_as=named_as)
        assert [(one.name, one.percent) for one in found[1:]] == [(name, F("0.3"))]


def test_a_preservative_that_is_a_listed_allergen_is_named_as_an_ingredient_once() -> None:
    alcohol = thing("Benzyl Alcohol", "preservative-alcohol")
    held = Allergen("Benzyl Alcohol", F(1), F("0.01"))
    lines = [(thing("Aqua", "water"), F(99)), (alcohol, F(1))]
    found, _ = listed(lines, (held,), EU, frozenset({"benzyl alcohol"}))
    assert names((found,)) == ["Aqua", "Benzyl Alcohol"]


def test_what_is_not_known_is_said_and_placed_by_hand() -> None:
    extract = thing("Oats", "extract", inci="Glycerin (and) Avena Extract")
    found, remarks = listed([(thing("Aqua", "water"), F(95)), (extract, F(5))], (), EU)
    assert [(one.name, one.placed) for one in found] == [
        ("Aqua", True),
        ("Glycerin", True),
        ("Avena Extract", False),
    ]
    assert any("by hand" in one.text and "Avena Extract" in one.text for one in remarks)


@given(st.lists(st.integers(1, 400), min_size=2, max_size=9))
def test_above_the_edge_shares_never_rise_and_nothing_is_lost(weights: list[int]) -> None:
    total = sum(weights)
    lines = [(thing(f"N{i}"), Fraction(weight * 100, total)) for i, weight in enumerate(weights)]
    for rules in (EU, US):
        found, _ = listed(lines, (), rules)
        assert sum(one.percent for one in found) == 100
        head = [one.percent for one in found if not one.tail]
        assert head == sorted(head, reverse=True)
        edge = rules.tail
        assert all(
            one.percent <= edge if rules.tail_with else one.percent < edge for one in found if one.tail
        )
        assert [one.tail for one in found] == sorted(one.tail for one in found)


def test_content_in_the_units_of_the_place() -> None:
    assert net_content("100 g", "point") == "100 g"
    assert net_content("0.1 kg", "point") == "100 g"
    assert net_content("100 g", "point", both=True) == "3.5 oz (100 g)"
    assert net_content("30 ml", "point", both=True) == "1 fl oz (30 ml)"
    assert net_content("20 g", "point", both=True) == "0.7 oz (20 g)"
    assert net_content("1000 g", "point") == "1 kg"
    assert net_content("1250 ml", "comma") == "1,25 l"
    assert net_content("999 g", "point") == "999 g"
    assert net_content("999.96 g", "point") == "999.9 g"
    assert net_content("1999.9 g", "point") == "1.999 kg"
    assert net_content("0.079 g", "point") == "0.07 g"
    for text in ("", "a jar", "0 g", "-3 g", "0.005 g"):
        with pytest.raises(UsageError, match="content"):
            net_content(text, "point")


def test_months_end_where_the_month_ends() -> None:
    assert months_later(date(2026, 1, 31), 1) == date(2026, 2, 28)
    assert months_later(date(2026, 11, 20), 14) == date(2028, 1, 20)
    assert months_later(date(2027, 12, 31), 2) == date(2028, 2, 29)


def test_a_date_never_lies_beyond_the_first_lot_to_expire(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    made = date(2026, 11, 20)
    sources = table_in(folder)
    lots = [lot for lot in sources.worktable.shelf if lot.ingredient == "glycerin"]
    assert lots
    free = make_label(sources, LabelWanted(FLAGSHIP, made=made, keeps_months=1))
    assert free.keeps.on == date(2026, 12, 20)
    changed(folder, "shelf.csv", lambda text: text.replace("2028-03-31", "2026-12-01", 1))
    bound = make_label(table_in(folder), LabelWanted(FLAGSHIP, made=made, keeps_months=1))
    assert bound.keeps.on == date(2026, 12, 1)
    assert "of Glycerin expires then" in bound.keeps.derived


def test_longer_than_thirty_months_the_time_after_opening_stands_instead(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    changed(
        folder,
        "shelf.csv",
        lambda text: re.sub(r"20\d\d-\d\d-\d\d(?=,[^,\n]*$)", "2039-01-01", text, flags=re.MULTILINE),
    )
    made = date(2026, 11, 20)
    late = table_in(folder)
    opened = make_label(late, LabelWanted(FLAGSHIP, keeps_months=31, opened_months=6, made=made))
    assert opened.keeps.words == "6 months after opening"
    dated = make_label(late, LabelWanted(FLAGSHIP, keeps_months=30, opened_months=6, made=made))
    assert dated.keeps.on == date(2029, 5, 20)
    asked = make_label(late, LabelWanted(FLAGSHIP, keeps_months=31, made=made))
    assert any("months after opening stand on the pack" in one.text for one in asked.by_hand)
    assert not make_label(demo(), LabelWanted(FLAGSHIP)).keeps.words


def test_a_lot_that_expires_soon_leaves_no_time_after_opening_alone() -> None:
    wanted = LabelWanted(FLAGSHIP, keeps_months=36, opened_months=9, made=date(2026, 11, 20))
    label = make_label(demo(), wanted)
    assert label.keeps.words == "best before 2027-03-21"
    assert label.keeps.derived.startswith("lot TW-1220 of Citric acid 20 % in water expires then")
    assert label.keeps.derived in label_text(label)
    without = make_label(demo(), replace(wanted, made=None)).keeps
    assert not without.words
    assert "never beyond 2027-03-21" in without.derived


def test_a_batch_that_was_made_brings_its_day_and_its_own_lots(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    open_batch(table_in(folder), "2611-01", FLAGSHIP, date(2026, 11, 20), "2 kg")
    changed(folder, "batches/2611-01.yaml", lambda text: text.replace("TW-1220", "TW-0001"))
    label = make_label(table_in(folder), LabelWanted(FLAGSHIP, keeps_months=12, batch="2611-01"))
    assert label.keeps.words == "best before 2027-03-31"
    assert "of Oat flour, fine" in label.keeps.derived
    told = [one.text for one in label.by_hand if one.source.startswith("batches/")]
    assert told == [
        f"Batch 2611-01: {which}: when it expires was not counted."
        for which in (
            "lot TW-0001 of Citric acid 20 % in water is not in shelf.csv",
            "no lot of Xanthan gum is written down",
        )
    ]


def test_what_breaks_a_rule_gets_no_label(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    changed(
        folder,
        f"formulas/{FLAGSHIP}.yaml",
        lambda text: text.replace("sodium-benzoate: 0.5", "sodium-benzoate: 4"),
    )
    with pytest.raises(OptimiserError, match="judge does not pass"):
        make_label(table_in(folder), LabelWanted(FLAGSHIP))


def test_every_form_carries_the_list_and_hostile_text_is_inert(tmp_path: Path) -> None:
    label = make_label(demo(), LabelWanted(FLAGSHIP, net="100 g", batch="<script>alert(1)</script>\u202e"))
    page = label_html(label)
    assert "<script>" not in page
    assert "\u202e" not in page
    for text in (page, label_text(label)):
        assert all(one.name in text for one in label.ingredients)
    assert label_dict(label)["ingredient_list"] == label.ingredient_list
    written = write_labels(label, FLAGSHIP, tmp_path / "out", ("html", "txt", "json"))
    assert json.loads(written[2].read_text(encoding="utf-8"))["jurisdiction"] == "EU"
    with pytest.raises(UsageError, match="docx"):
        write_labels(label, FLAGSHIP, tmp_path, ("docx",))


def test_the_pack_says_what_the_law_wants_of_what_is_in_it(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    sources = table_in(folder)
    settings = replace(sources.worktable.settings, jurisdiction="US")
    american = replace(sources, worktable=replace(sources.worktable, settings=settings))
    label = make_label(american, LabelWanted(FLAGSHIP, net="100 g"))
    assert label.net == "3.5 oz (100 g)"
    assert "Water" in label.ingredient_list
    assert "Aqua" not in label.ingredient_list
    assert any("740.10" in one.source for one in label.by_hand)
    assert "not more than 1\u00a0%" in label_html(label)
    assert all(one.source in label_html(label) for one in label.rules)
    assert any(one["source"].startswith("21 CFR 701.3(a)") for one in label_dict(label)["rules"])
