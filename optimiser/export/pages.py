"""Where printed pages come from: templates with all text escaped, numbers kept with their units."""

from __future__ import annotations

import re
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

_UNIT = re.compile(r"([0-9]) (%|g|min|h|°C)(?!\w)")


@cache
def environment() -> Environment:
    """The templates of `export/templates`; a name that a template lacks is an error."""
    made = Environment(
        loader=PackageLoader("optimiser.export", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["together"] = together
    return made


def together(text: str) -> str:
    """The text with each number kept on one line with its unit."""
    return _UNIT.sub("\\1\u00a0\\2", text)
