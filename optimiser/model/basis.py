"""Where each column and row of a model stands at a corner of its region."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Standing = Literal["basic", "lower", "upper", "zero"]


@dataclass(frozen=True, slots=True)
class Basis:
    """Standing of each variable and each row, by name; `zero` is a free one held at nought.

    As many are basic as the model has rows. A row's standing is that of its activity.
    """

    columns: Mapping[str, Standing]
    rows: Mapping[str, Standing]
