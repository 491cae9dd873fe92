"""What was refused for what was typed shows the form again, as it was filled in, and the way back."""

from __future__ import annotations

import os
import re
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from optimiser.page.refusing import DILUTED
from tests.page.conftest import Visitor

DAY = "2026-11-25"


@pytest.fixture(scope="module")
def proposal(visitor: Visitor) -> str:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/limit", rule="line:", name="beeswax", low="6.8", high="6.8", revision="0")
    visitor.answer(path)
    return str(visitor.post(f"{path}/save", which="0", revision="1").url.path)


def shown(visitor: Visitor, at: str, **fields: str) -> str:
    """What stands there once it is weighed out."""
    return str(visitor.weighed(f"{at}?{urlencode(fields)}").text)


def field(text: str, name: str) -> str:
    found = re.search(rf'<input[^>]* name="{name}"[^>]*>', text)
    assert found is not None
    return found[0]


@pytest.mark.parametrize("batch", ["lots", "0 g", "250 ml"])
def test_a_batch_that_cannot_be_weighed(visitor: Visitor, proposal: str, batch: str) -> None:
    at = proposal.replace("proposal", "sheet")
    fields = {"batch": batch, "paper": "record", "because": "so it is"}
    answer = visitor.weighed(f"{at}?{urlencode(fields)}")
    assert answer.status_code == 409
    assert f'value="{batch}"' in field(answer.text, "batch")
    assert 'aria-invalid="true" aria-describedby="fault"' in field(answer.text, "batch")
    assert 'value="so it is"' in field(answer.text, "because")
    assert '<option value="record" selected>' in answer.text
    assert f'<a href="{proposal}">Back to the proposal</a>' in answer.text
    assert f'action="{at}"' in answer.text
    assert "--" not in answer.text.partition("<main")[2]


def test_a_batch_too_small_for_the_balance(visitor: Visitor, proposal: str) -> None:
    at = proposal.replace("proposal", "sheet")
    text = shown(visitor, at, batch="2 g", paper="full", because="")
    assert "A batch of 10 g works; so does a balance that reads 0.001 g" in text
    assert "--" not in text.partition("<main")[2]
    assert "aria-invalid" in field(text, "batch")


@pytest.mark.parametrize(
    ("told", "shown"),
    [
        ("a batch of 20 g works; so does DILUTE; so does a balance that reads 0.001 g",
         "a batch of 20 g works; so does a balance that reads 0.001 g"),
        ("a batch of 20 g works; so does DILUTE", "a batch of 20 g works"),
        ("DILUTE; so does a balance that reads 0.001 g", "a balance that reads 0.001 g"),
        ("a batch of 20 g works", "a batch of 20 g works"),
    ],
)  # fmt: skip
def test_a_way_out_that_the_page_has_no_field_for_is_not_told(told: str, shown: str) -> None:
    words = "weighing as one part in ten of water: --dilute sorbate --dilute benzoate"
    assert DILUTED.sub("", told.replace("DILUTE", words)) == shown


def refused(visitor: Visitor, path: str, **fields: str) -> Any:
    answer = visitor.open_trial(path, **{"day": DAY, "size": "", "called": "", **fields})
    assert answer.status_code == 409
    return answer.text


@pytest.mark.parametrize(("name", "typed"), [("size", "a jar"), ("called", "no/name"), ("day", "soon")])
def test_a_trial_that_cannot_be_opened(visitor: Visitor, folder: Path, name: str, typed: str) -> None:
    before = set(folder.glob("trials/*"))
    text = refused(visitor, "/formula/sunflower-balm", **{"size": "90 g", "called": "mine", name: typed})
    assert [n for n in ("size", "called", "day") if "aria-invalid" in field(text, n)] == [name]
    assert f'value="{typed}"' in field(text, name)
    assert 'value="90 g"' in field(text, "size") or name == "size"
    assert '<a href="/formula/sunflower-balm">Back to the formula</a>' in text
    assert set(folder.glob("trials/*")) == before


def test_a_trial_of_a_proposal_leads_back_to_it(visitor: Visitor, proposal: str) -> None:
    assert f'<a href="{proposal}">Back to the proposal</a>' in refused(visitor, proposal, size="-5 g")


def test_the_first_screen_tells_of_a_kept_proposal_its_formula_and_day(
    visitor: Visitor, proposal: str, folder: Path
) -> None:
    name = proposal.removeprefix("/proposal/")
    file = folder / "proposals" / f"{name}.yaml"
    os.utime(file, (1_793_000_000, 1_793_000_000))
    day = datetime.fromtimestamp(1_793_000_000).astimezone().date().isoformat()
    entry = visitor.get("/").text.partition(f'href="{proposal}"')[2].partition("</li>")[0]
    assert f"Sunflower cleansing balm · {day}" in entry
    odd = folder / "proposals" / "odd.yaml"
    odd.write_bytes(b"\xff\xfe: [")
    text = visitor.get("/").text
    odd.unlink()
    assert '<a href="/proposal/odd">' in text
