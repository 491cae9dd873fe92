"""What is asked of the process that solves, and what it says when it cannot."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.page.drafts import Asking


@dataclass(frozen=True, slots=True)
class Fault:
    """What stopped an answer, in words: `problems` are sentences with file and line.

    `again`: nothing in the folder or the request is to blame, so that the same may be asked once more.
    """

    what: str
    fix: str = ""
    problems: tuple[str, ...] = ()
    again: bool = False


LOST = Fault(
    "The work on the answer broke off. The computer may have had no memory left for it.",
    "Nothing was changed. Ask again; if it breaks off again, close other programs or ask for less at once.",
    again=True,
)
"""For a process that died, or could not be started."""


@dataclass(frozen=True, slots=True)
class Question:
    """A formula of the folder, what is asked of it, and the stamp of the files it is asked of.

    `kind` is what is wanted (one of `kinds.KINDS`, or "propose"), `about` what it wants besides, in words.
    """

    formula: str
    asking: Asking
    stamp: int
    kind: str = "propose"
    about: tuple[str, ...] = ()
