"""Every address there is, taken from the application itself, so that a new screen is attacked too."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest
from starlette.routing import Mount, Route

from optimiser.page.guard import CSP, HEADERS
from optimiser.page.later import Later
from tests.page.conftest import HOST, Visitor

PART = re.compile(r"\{(\w+)(?::\w+)?\}")
OUTSIDE = (
    "..%2f..%2fworktable.yaml",
    "%2e%2e%2fworktable",
    "..%5cworktable",
    "%2fetc%2fpasswd",
    "worktable.yaml%00",
)
FOLDERS = (
    "/formulas/",
    "/briefs/",
    "/proposals/",
    "/trials/",
    "/static/",
    "/templates/",
    "/.git/",
    "/ingredients.csv",
)
POSTS_AT_LEAST = 10


def routes(visitor: Visitor, method: str) -> list[str]:
    """Patterns of all addresses that answer to the method."""
    application = getattr(visitor.client.app, "_app")  # noqa: B009
    first = application.routes
    later = [one.app for one in first if isinstance(one, Mount) and isinstance(one.app, Later)]
    behind = [one for part in later for one in part.read().routes]
    assert behind
    found = [
        one.path for one in (*first, *behind) if isinstance(one, Route) and method in (one.methods or {"GET"})
    ]
    assert found
    return sorted(set(found))


def stamps(folder: Path) -> dict[str, str]:
    files = [one for one in folder.rglob("*") if one.is_file() and not one.name.startswith(".lock")]
    return {str(one.relative_to(folder)): hashlib.sha256(one.read_bytes()).hexdigest() for one in files}


def filled(pattern: str, name: str = "sunflower-balm") -> str:
    return PART.sub(lambda part: "formula" if part[1] == "kind" else name, pattern)


@pytest.mark.parametrize("name", OUTSIDE)
def test_no_name_of_any_address_leads_out_of_the_folder(visitor: Visitor, name: str, folder: Path) -> None:
    before = stamps(folder)
    for method in ("GET", "POST"):
        for pattern in routes(visitor, method):
            if not PART.search(pattern):
                continue
            path = filled(pattern, name)
            answer = visitor.get(path) if method == "GET" else visitor.post(path)
            assert answer.status_code in (404, 405, 409), (method, path, answer.status_code)
            assert "root:" not in answer.text
            assert "rules_date" not in answer.text
    assert stamps(folder) == before


def test_no_post_is_taken_without_the_token_or_from_elsewhere(visitor: Visitor, folder: Path) -> None:
    before = stamps(folder)
    posts = routes(visitor, "POST")
    assert len(posts) >= POSTS_AT_LEAST
    for path in map(filled, posts):
        assert visitor.client.post(path, data={}).status_code == 403, path
        assert visitor.client.post(path, data={"token": "guess"}).status_code == 403, path
        for headers in ({"origin": f"https://{HOST}.evil.example"}, {"sec-fetch-site": "same-site"}):
            assert visitor.post(path, headers).status_code == 403, (path, headers)
    assert stamps(folder) == before


def test_no_address_answers_to_another_host_or_method(visitor: Visitor) -> None:
    for path in map(filled, routes(visitor, "GET")):
        assert visitor.get(path, host="rebound.example:4321").status_code == 421, path
        for method in ("PUT", "DELETE", "OPTIONS", "TRACE"):
            assert visitor.client.request(method, path).status_code == 405, (method, path)


def test_refusals_carry_the_safety_headers_too(visitor: Visitor) -> None:
    answers = [visitor.get(filled(path)) for path in routes(visitor, "GET")]
    answers += [visitor.client.post(filled(path), data={}) for path in routes(visitor, "POST")]
    answers += [visitor.get("/", host="rebound.example"), visitor.client.request("PUT", "/")]
    answers += [visitor.client.post("/", content=b"", headers={"content-length": "9" * 12})]
    for answer in answers:
        for name, value in HEADERS.items():
            assert answer.headers[name] == value, (answer.url, name)
        policy = answer.headers["content-security-policy"]
        assert policy == CSP or policy.startswith("default-src 'none'"), answer.url
        assert "unsafe-eval" not in policy


def test_no_folder_is_listed(visitor: Visitor) -> None:
    for path in FOLDERS:
        answer = visitor.get(path)
        assert answer.status_code == 404, path
        assert "sunflower-balm" not in answer.text
