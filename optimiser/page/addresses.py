"""Where a screen is found."""

from __future__ import annotations

from urllib.parse import quote


def screen_of(ingredient: str) -> str:
    """The address of an ingredient's screen."""
    return f"/ingredient/{quote(ingredient, safe='')}"
