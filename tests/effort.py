"""How many random cases a slow property is tried on: few by default, many before a release."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

THOROUGH = os.environ.get("THOROUGH") == "1"


def tries(many: int) -> settings:
    """`many` cases with THOROUGH=1 in the environment, else three in ten, at least five; no deadline."""
    count = many if THOROUGH else max(5, many * 3 // 10)
    return settings(max_examples=count, deadline=None, suppress_health_check=list(HealthCheck))
