"""When the memory of a process that serves is looked through for waste."""

from __future__ import annotations

import gc

OBJECTS = 20_000
"""Made anew before waste is looked for: an answer is some ten thousand, and hardly any of them is waste."""


def settle() -> None:
    """What is there by now stays as long as the process, so it is not looked through again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(OBJECTS, 20, 20)
    gc.enable()
