"""Which layers are mutated, and which tests have to notice: the quick ones first."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOTICED_BY: dict[str, tuple[str, ...]] = {
    "lp": ("tests/unit/lp", "tests/unit/search", "tests/properties/test_core.py"),
    "checks": (
        "tests/unit/checks",
        "tests/published/test_known_failures.py",
        "tests/properties/test_core.py",
    ),
    "science": (
        "tests/unit/science",
        "tests/published/test_ph_tables.py",
        "tests/published/test_gum_flow.py",
        "tests/published/test_hlb_blends.py",
        "tests/published/test_natural_origin.py",
        "tests/published/test_phase_partition.py",
        "tests/published/test_undissociated_shares.py",
        "tests/published/test_water_activity_of_mixtures.py",
        "tests/published/test_freezing_points.py",
        "tests/unit/checks",
    ),
    "explain": (
        "tests/unit/explain",
        "tests/properties/test_explanations.py",
        "tests/cli/test_exit_codes_and_hints.py",
    ),
}
LEFT_OUT = re.compile(
    r"core/ReplaceBinaryOperator_(BitOr_|\w+_(BitOr|BitAnd|BitXor|LShift|RShift|FloorDiv|Mod|Pow)$)"
)
"""`a | b` stands in annotations far more often than in code, where a change changes nothing; and `a >> b` for
`a / b` fails at the first call, which would only flatter the score."""
