"""Many visitors, a stop at the wrong moment, words and numbers meant to break things: nothing is lost."""

from __future__ import annotations

import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path

import pytest
from starlette.exceptions import HTTPException
from starlette.testclient import TestClient

from optimiser.domain.moved import Moved
from optimiser.domain.outcome import Concession
from optimiser.domain.rules import Amount, Head
from optimiser.page import changing
from optimiser.page.app import make_app
from optimiser.page.desk import Desk, stamp_of
from optimiser.page.drafts import Asking, Drafts
from optimiser.page.guard import FREE_TRIES, Keys, Patience
from optimiser.page.questions import Question
from optimiser.page.views.answer import press_of
from optimiser.page.work import Work
from optimiser.workflows.moving import moves_of
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import HOST, Visitor

HOSTILE = "<script>alert(1)</script>"
CLIENTS = 50
WAIT_S = 20.0


@pytest.mark.parametrize("path", ["say", "cure", "save", "limit", "step", "stop"])
def test_digits_of_another_script_are_no_fault_of_the_program(visitor: Visitor, path: str) -> None:
    at = visitor.change("sunflower-balm")
    fields = dict.fromkeys(("revision", "cure", "which", "press", "low"), "²")
    assert visitor.post(f"{at}/{path}", what="more", name="²", rule="²", way="²", **fields).status_code < 500
    assert visitor.get(f"{at}/answer?seen=²").status_code == 200


@pytest.mark.parametrize(
    "name", ["a\x00b", "flag:", "flag:<b>", "../../etc/passwd", "x" * 5000, "\u202egnip"]
)
def test_what_is_no_name_changes_nothing(visitor: Visitor, name: str) -> None:
    at = visitor.change("sunflower-balm")
    answer = visitor.post(f"{at}/say", what="leave-out", name=name, revision="0")
    assert answer.status_code == 409
    assert "<b>" not in answer.text
    assert "Say what must change" in visitor.get(at).text


def test_a_stop_without_script_stays_stopped_until_asked_again(visitor: Visitor) -> None:
    at = visitor.change("oat-rose-mask")
    visitor.post(f"{at}/say", what="leave-out", name="kaolin", revision="0")
    stopped = visitor.post(f"{at}/stop")
    assert "Stopped. Nothing was changed." in stopped.text
    assert 'class="wait" hx-get' not in stopped.text
    begun = time.monotonic()
    other = visitor.change("sunflower-balm")
    visitor.post(f"{other}/say", what="leave-out", name="vitamin-e", revision="0")
    visitor.answer(other)
    assert time.monotonic() - begun < WAIT_S


def test_a_stop_before_the_first_answer_is_the_answer(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The button is there while the press itself still waits for its answer."""
    monkeypatch.setattr(changing, "SOON", WAIT_S)
    monkeypatch.setattr(Work, "_run", lambda *_: None)
    at = visitor.change("sunflower-balm")
    part = {"hx-request": "true"}
    said = {"what": "aim", "name": "fewest-changes", "revision": "0"}
    with ThreadPoolExecutor(1) as tab:
        pressed = tab.submit(visitor.post, f"{at}/say", part, **said)
        while "Stopped." not in visitor.post(f"{at}/stop", part).text and not pressed.done():
            time.sleep(0.01)
        assert "Stopped. Nothing was changed." in pressed.result().text


def test_what_another_tab_changed_is_not_kept_unseen(visitor: Visitor, folder: Path) -> None:
    at = visitor.change("sunflower-balm")
    visitor.post(f"{at}/say", what="brief", name="vegan", revision="0")
    visitor.answer(at)
    visitor.post(f"{at}/say", what="aim", name="cheapest", revision="1")
    visitor.answer(at)
    before = set(folder.rglob("*.yaml"))
    assert visitor.post(f"{at}/save", which="0", revision="1").status_code == 409
    assert set(folder.rglob("*.yaml")) == before


def test_one_press_keeps_one_proposal(visitor: Visitor, folder: Path) -> None:
    at = visitor.change("sunflower-balm")
    visitor.post(f"{at}/say", what="brief", name="vegan", revision="0")
    visitor.post(f"{at}/say", what="more", name="2", revision="1")
    text = visitor.answer(at)
    assert text.count("Keep this proposal") > 1
    before = set(folder.rglob("*.yaml"))
    kept = visitor.post(f"{at}/save", which="1", revision="2")
    assert kept.url.path.endswith("-2")
    assert len(set(folder.rglob("*.yaml")) - before) == 1


def test_fifty_visitors_at_once(visitor: Visitor) -> None:
    """Each starts a request of its own and says something; none is lost, none gets another's."""
    names = ("beeswax", "vitamin-e", "shea-butter")

    def one(number: int) -> tuple[str, int, int]:
        token = {"token": visitor.keys.form}
        begun = visitor.client.post("/formula/sunflower-balm/change", data=token, follow_redirects=False)
        at = begun.headers["location"]
        said = {**token, "what": "leave-out", "name": names[number % 3], "revision": "0"}
        done = visitor.client.post(f"{at}/say", data=said, follow_redirects=False)
        return at, done.status_code, visitor.get("/").status_code

    with ThreadPoolExecutor(CLIENTS) as many:
        found = list(many.map(one, range(CLIENTS)))
    assert {(said, home) for _, said, home in found} == {(303, 200)}
    assert len({at for at, _, _ in found}) == CLIENTS
    for number in (0, 1, 2, CLIENTS - 1):
        word = ("without Beeswax", "without Mixed tocopherols in oil", "without Shea butter")[number % 3]
        assert f"{word}</bdi>" in visitor.get(found[number][0]).text


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """A folder whose names are markup."""
    place = tmp_path_factory.mktemp("hostile") / "table"
    start_worktable(place)
    for file in ("formulas/sunflower-balm.yaml", "briefs/vegan.yaml", "worktable.yaml"):
        path = place / file
        lines = path.read_text(encoding="utf-8").splitlines()
        changed = [f'name: "{HOSTILE} {file}"' if line.startswith("name:") else line for line in lines]
        path.write_text("\n".join(changed), encoding="utf-8")
    table = place / "ingredients.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("Beeswax", HOSTILE), encoding="utf-8")
    keys, work = Keys(frozenset({HOST})), Work(place)
    with TestClient(make_app(Desk(place), work, keys), base_url=f"http://{HOST}") as client:
        client.cookies.set(keys.cookie, keys.key)
        yield Visitor(client, keys)
    work.close()


def test_markup_in_names_stays_text_on_every_screen(hostile: Visitor) -> None:
    at = hostile.change("sunflower-balm")
    hostile.post(f"{at}/say", what="brief", name="vegan", revision="0")
    answered = hostile.answer(at)
    kept = hostile.post(f"{at}/save", which="0", revision="1")
    sheet = hostile.weighed(kept.url.path.replace("proposal", "sheet"))
    screens = [
        hostile.get("/").text,
        hostile.get("/formula/sunflower-balm").text,
        answered,
        kept.text,
        sheet.text,
    ]
    for text in screens:
        assert "<script>alert" not in text
        assert "&lt;script&gt;alert(1)" in text


HEAD = Head("formulas/x#wax", "Wax: at least 5 %.")
WAX = Amount(HEAD, "wax", Fraction(5))


def cured(**more: object) -> Concession:
    values: dict[str, object] = {
        "asked": "",
        "enough": "x",
        "sentence": "",
        "steps": Fraction(1),
        "proposal": None,
    }
    return Concession(rule=WAX, **{**values, **more})  # type: ignore[arg-type]


def test_a_press_gives_up_a_rule_only_where_that_was_said() -> None:
    assert moves_of(cured()) == (Moved(HEAD.id, gone=True),)
    finer = cured(outside=True, enough="weigh in steps of 0.0001 %")
    assert moves_of(finer) == ()
    assert press_of(finer) == ""
    other = cured(
        outside=True, leave="citric-acid", enough="set the pH with lactic acid instead of citric acid"
    )
    assert moves_of(other) == ()
    assert press_of(other).startswith("Set the pH with")


def test_rules_that_move_together_all_move() -> None:
    other = Amount(Head("formulas/x#oil", "Oil: at most 3 %."), "oil", None, Fraction(3))
    both = cured(together=(WAX, other))
    assert moves_of(both) == (Moved(HEAD.id, Fraction(5)), Moved("formulas/x#oil", None, Fraction(3)))
    assert press_of(both) == "Allow all of these together"


def test_what_was_allowed_before_stays_allowed() -> None:
    asking = Asking().with_limit(Moved("a", but_for=("wax",))).with_limit(Moved("a", but_for=("oil",)))
    assert asking.moved == (Moved("a", but_for=("oil", "wax")),)


def test_the_oldest_drafts_are_forgotten_first() -> None:
    drafts = Drafts()
    first = drafts.start("balm")
    kept = [drafts.start("balm") for _ in range(200)]
    assert drafts.get(first.id) is None
    assert drafts.get(kept[-1].id) == kept[-1]


def test_a_file_that_vanishes_while_it_is_looked_at_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "formulas").mkdir()
    (tmp_path / "formulas" / "gone.yaml").symlink_to(tmp_path / "nothing.yaml")
    assert stamp_of(tmp_path) == stamp_of(tmp_path)


def test_stopped_hands_are_not_given_the_next_question(tmp_path: Path) -> None:
    place = tmp_path / "table"
    start_worktable(place)
    work = Work(place)
    try:
        stamp = stamp_of(place)
        for aim in ("cheapest", "closest", "fewest-ingredients"):
            work.stop(work.ask(Question("oat-rose-mask", Asking(aim=aim), stamp), aim))
        job = work.ask(Question("sunflower-balm", Asking(leave_out=("vitamin-e",)), stamp), "last")
        end = time.monotonic() + WAIT_S
        while job.state == "running" and time.monotonic() < end:
            time.sleep(0.01)
        assert (job.state, job.fault) == ("done", None)
    finally:
        work.close()


def test_passwords_cannot_be_guessed_quickly() -> None:
    clock = [0.0]
    keys = Keys(frozenset({HOST}), "a long password", patience=Patience(lambda: clock[0]))
    for _ in range(FREE_TRIES):
        assert not keys.knows("guess")
    with pytest.raises(HTTPException) as refused:
        keys.knows("a long password")
    assert (refused.value.status_code, refused.value.detail[-4:]) == (429, "2 s.")
    clock[0] += 2
    assert keys.knows("a long password")
    assert not keys.knows("guess")
    assert keys.knows("a long password")


def test_a_shared_page_asks_for_its_password_and_lets_in(folder: Path) -> None:
    keys, work = Keys(frozenset({HOST}), "a long password"), Work(folder)
    client = TestClient(make_app(Desk(folder), work, keys), base_url=f"http://{HOST}")
    asked = client.get("/")
    assert asked.url.path == "/enter"
    assert "Sunflower" not in asked.text
    assert client.get(f"/?key={keys.key}").url.path == "/enter"
    wrong = client.post("/enter", data={"token": keys.form, "password": "guess"})
    assert wrong.status_code == 403
    right = client.post("/enter", data={"token": keys.form, "password": "a long password"})
    assert right.url.path == "/"
    assert "Sunflower" in right.text


@pytest.mark.parametrize("fragment", ["false", "true"])
def test_what_nobody_foresaw_is_told_in_a_sentence(
    folder: Path, fragment: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_desk: Desk) -> None:
        raise ZeroDivisionError("a secret of the program")

    keys, work = Keys(frozenset({HOST})), Work(folder)
    app = make_app(Desk(folder), work, keys)
    monkeypatch.setattr(Desk, "look", broken)
    with TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=False) as client:
        client.cookies.set(keys.cookie, keys.key)
        answer = client.get("/", headers={"hx-request": fragment})
    work.close()
    assert answer.status_code == 500
    assert "Something went wrong in the program itself." in answer.text
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text
    assert ('<a href="/">To what I have</a>' in answer.text) is (fragment == "false")
    assert "content-security-policy" in answer.headers
