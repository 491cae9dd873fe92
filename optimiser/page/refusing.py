"""What cannot be done as typed: the fault above its form as it was filled in, and the way back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from starlette.responses import Response

from optimiser.errors import OptimiserError
from optimiser.page.questions import Fault
from optimiser.page.show import Page
from optimiser.workflows.volumes import batch_grams

WITH_OPTIONS = {
    'print it all the same with --because "your reason"': "to print it all the same, write your reason below",
    'add --density "1.15 g/ml", or give a weight': "give a weight",
}
"""What to do, where the workflow speaks of options of the command line."""
DILUTED = re.compile(r"; so does weighing as one part in ten of water: [^;]*|^weighing as [^;]*; so does ")
"""A way out that the page has no field for, with what parts it from the others."""


def not_yet(
    page: Page,
    fault: Fault,
    title: str,
    at: str,
    typed: Mapping[str, str],
    wrong: tuple[str, ...],
    back: tuple[str, str],
) -> Response:
    """A fault above the form that led to it, fields that are `wrong` marked; `back` is the screen before."""
    return page.show(
        "not_yet.html",
        409,
        title=title,
        fault=replace(fault, fix=DILUTED.sub("", WITH_OPTIONS.get(fault.fix, fault.fix))),
        at=at,
        typed=typed,
        wrong=wrong,
        back=back,
    )


def is_no_batch(page: Page, text: str) -> bool:
    """Whether what was typed is none; an empty field stands for a batch that is known."""
    if not text.strip():
        return False
    try:
        batch_grams(text, page.desk.decimal)
    except OptimiserError:
        return True
    return False


def cannot_be_weighed(fault: Fault) -> bool:
    """Whether the fault is of a batch that is too small for the balances."""
    return "cannot be weighed out" in fault.what
