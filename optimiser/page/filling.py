"""Templates of the page: where they lie and how they are filled in."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined


def environment() -> Environment:
    """Everything filled in is text; what a template asks for and does not get is a fault."""
    return Environment(
        loader=PackageLoader("optimiser.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
