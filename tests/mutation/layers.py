"""Which layers are mutated, and where the tests stand that may notice."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LAYERS = ("checks", "explain", "lp", "science")
NOTICING = (
    "tests/unit/checks",
    "tests/unit/explain",
    "tests/unit/lp",
    "tests/unit/science",
    "tests/unit/explain_model",
    "tests/unit/certify",
    "tests/unit/requests",
    "tests/unit/search",
    "tests/published",
    "tests/properties",
)
"""Every test file here is run once to learn what it calls; those that call what was changed run again."""
LEFT_OUT = re.compile(
    r"core/ReplaceBinaryOperator_(BitOr_|\w+_(BitOr|BitAnd|BitXor|LShift|RShift|FloorDiv|Mod|Pow)$)"
)
"""`a | b` stands in annotations far more often than in code, where a change changes nothing; and `a >> b` for
`a / b` fails at the first call, which would only flatter the score."""
COPIED = ("optimiser", "ingredient_data_demo", "tests", "examples", "docs", "pyproject.toml", "README.md")
