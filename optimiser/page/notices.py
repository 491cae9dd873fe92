"""The notice of files that changed since what is shown, on every screen of a request."""

from __future__ import annotations

from dataclasses import replace

from optimiser.page.drafts import Draft
from optimiser.page.show import Page
from optimiser.page.underneath import Under, under_of


def notice_of(page: Page, draft: Draft) -> Under | None:
    """What changed since the files of the draft, or None; two states are compared once."""
    held, now = page.seen(draft), page.desk.look()
    if held.stamp == now.stamp:
        return None
    key = now.stamp, draft.formula
    if key not in held.news:
        under = under_of(page, draft)
        if under is None or under.stamp != now.stamp:  # changed again meanwhile
            return under
        held.news[key] = under
    found: Under = held.news[key]
    return replace(found, passed=draft.passed == now.stamp)
