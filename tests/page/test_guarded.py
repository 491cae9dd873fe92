"""Who may ask what: names, origins, keys, tokens, paths, sizes."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from optimiser.cli.page import command
from optimiser.errors import UsageError
from optimiser.page.guard import MOST_BYTES
from tests.page.conftest import HOST, Visitor


def test_another_name_for_the_same_port_is_refused(visitor: Visitor) -> None:
    for host in ("evil.example", "evil.example:4321", "127.0.0.1", "127.0.0.1:80", ""):
        assert visitor.get("/", host=host).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}],
)
def test_posts_from_elsewhere_are_refused(visitor: Visitor, headers: dict[str, str]) -> None:
    assert visitor.post("/formula/sunflower-balm/change", headers).status_code == 403


def test_its_own_origin_may_post(visitor: Visitor) -> None:
    own = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin"}
    assert visitor.post("/formula/sunflower-balm/change", own).status_code == 200


def test_a_post_without_the_token_is_refused(visitor: Visitor) -> None:
    answer = visitor.client.post("/formula/sunflower-balm/change", data={"token": "guess"})
    assert answer.status_code == 403
    assert "Load the page again" in answer.text


def test_nothing_is_shown_without_the_key(visitor: Visitor) -> None:
    stranger = TestClient(visitor.client.app, base_url=f"http://{HOST}")
    assert stranger.get("/").status_code == 403
    assert "Sunflower" not in stranger.get("/").text
    assert stranger.get("/?key=guess").status_code == 403
    assert stranger.get(f"/?key={visitor.keys.key}").status_code == 200
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/proposal/..%2F..%2Fetc%2Fpasswd",
        "/sheet/..%2fworktable",
        "/static/..%2fapp.py",
        "/static/page.js%00",
        "/formula/..%2f..%2fworktable",
        "/static/",
        "/proposals/",
        "/nothing",
    ],
)
def test_no_path_leads_out_of_the_folder(visitor: Visitor, path: str) -> None:
    answer = visitor.get(path)
    assert answer.status_code == 404
    assert "currency" not in answer.text


def test_every_answer_carries_the_safety_headers(visitor: Visitor) -> None:
    for path in ("/", "/nothing", "/static/page.css", "/formula/sunflower-balm"):
        headers = visitor.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


def test_too_much_is_not_read(visitor: Visitor) -> None:
    large = b"x" * (MOST_BYTES + 1)
    assert visitor.client.post("/formula/sunflower-balm/change", content=large).status_code == 413

    def bit_by_bit() -> object:
        for _ in range(MOST_BYTES // 1_000_000 + 2):
            yield b"x" * 1_000_000

    kind = {"content-type": "application/x-www-form-urlencoded"}
    answer = visitor.client.post("/formula/sunflower-balm/change", content=bit_by_bit(), headers=kind)
    assert answer.status_code in (400, 413)


def test_malformed_posts_are_answered_quietly(visitor: Visitor) -> None:
    kind = {"content-type": "multipart/form-data; boundary=x"}
    for body in (b"--x\r\nnonsense", b"\xff\xfe\x00", b""):
        answer = visitor.client.post("/formula/sunflower-balm/change", content=body, headers=kind)
        assert answer.status_code in (400, 403)


def test_no_page_brings_script_or_style_of_its_own(visitor: Visitor) -> None:
    for path in ("/", "/formula/sunflower-balm", visitor.change("sunflower-balm"), "/nothing"):
        text = visitor.get(path).text
        assert "<style" not in text
        assert " style=" not in text
        assert "<script>" not in text
        assert " onclick" not in text


def test_sharing_takes_a_password_and_says_what_it_exposes(tmp_path: Path) -> None:
    outcome = CliRunner().invoke(command, [str(tmp_path), "--listen", "192.0.2.1:8000"])
    assert isinstance(outcome.exception, UsageError)
    assert "takes a password" in outcome.exception.what
    assert "formulas, prices and trials" in outcome.exception.what
