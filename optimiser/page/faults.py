"""Exceptions of the workflows as what a page can show."""

from __future__ import annotations

from optimiser.errors import DataError, OptimiserError, RefusedError
from optimiser.page.questions import Fault
from optimiser.problems import Problem

UNFORESEEN = Fault(
    "Something went wrong in the program itself.",
    "What you asked may not have been done: look before you ask again. "
    "What happened stands in the window where the page was started.",
)
"""For what no reader or workflow raises on purpose: nothing of its text is shown."""


def fault_of(fault: OptimiserError) -> Fault:
    if isinstance(fault, DataError):
        told = tuple(p.sentence() if isinstance(p, Problem) else str(p) for p in fault.problems)
        return Fault(fault.what, "mend these and ask again", told)
    if isinstance(fault, RefusedError):
        return Fault(f"Not served: {fault.what}", f"source: {fault.source}")
    return Fault(fault.what, fault.fix)
