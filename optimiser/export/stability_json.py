"""An estimate of how long jars keep, as JSON."""

from __future__ import annotations

from typing import Any

from optimiser.trials.stability import Kept, Stability

PLACES = 6
ESTIMATE = "an estimate from readings, no claim: keep reading retained jars"


def stability_dict(found: Stability) -> dict[str, Any]:
    rate = found.rate
    return {
        "format": 1,
        "measure": found.measure,
        "unit": found.unit,
        "at_least": found.limits.low,
        "at_most": found.limits.high,
        "note": ESTIMATE,
        "kept": [_kept(one) for one in found.kept],
        "by_temperature": {
            "at_c": found.at_c,
            "refused": found.no_rate,
            "days": None if found.at_room is None else int(found.at_room),
            "kj_per_mol": None if rate is None else round(rate.energy, 1),
            "kj_per_mol_standard_error": None if rate is None else round(rate.energy_error, 1),
        },
        "not_used": list(found.out),
    }


def _kept(one: Kept) -> dict[str, Any]:
    line = one.line
    return {
        "stored_c": None if one.condition[0] is None else float(one.condition[0]),
        "light": one.condition[1],
        "trials": list(one.trials),
        "readings": one.count,
        "observed_days": one.observed,
        "pooled": one.pooled,
        "start": None if line is None else round(line.start, PLACES),
        "per_day": None if line is None else round(line.slope, PLACES),
        "per_day_standard_error": None if line is None else round(line.slope_error, PLACES),
        "bound_meets_limit_days": None if one.days is None else round(one.days, 1),
        "days": one.told if line is not None else None,
        "beyond_observed": one.beyond,
        "why": list(one.why),
    }
