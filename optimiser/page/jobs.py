"""One question under way and its answer: that it is there, and its words, come before the rest of it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from optimiser.page.hands import Hand
from optimiser.page.questions import Fault, Question
from optimiser.requests.sources import Sources

if TYPE_CHECKING:
    from optimiser.page.views.answer import Answer

DRAWN_S = 0.1
"""A browser has its answer on the screen within this, mostly."""
State = Literal["running", "done", "fault", "stopped"]


@dataclass
class Job:
    """`version` grows whenever something is new to tell; `took` is the seconds that the process that solves
    worked on it. `words` are the answer as it is shown, for questions whose answer has such.
    """

    question: Question
    owner: str = ""
    state: State = "running"
    told: str = "starting"
    version: int = 0
    took: float = 0.0
    words: Answer | None = None
    fault: Fault | None = None
    hand: Hand | None = None
    sources: Sources | None = None
    _heard: list[Callable[[], None]] = field(default_factory=list)
    _outcome: Any = None
    _wanted: threading.Event = field(default_factory=threading.Event)
    _whole: threading.Event = field(default_factory=threading.Event)

    @property
    def was_stopped(self) -> bool:
        return self.state == "stopped"

    @property
    def outcome(self) -> Any:
        """What was found, None where nothing was.

        Where only its words are there yet, this waits for the rest, or the end of the process that has it.
        """
        if self.state != "done":
            return None
        self.want_the_rest()
        self._whole.wait()
        return self._outcome

    @contextmanager
    def heard_by(self, told: Callable[[], None]) -> Iterator[None]:
        """`told` is called at each change, from whatever thread it comes."""
        self._heard.append(told)
        try:
            yield
        finally:
            self._heard.remove(told)

    def tell(self, text: str) -> None:
        self.told = text
        self._changed()

    def stop(self) -> None:
        self._end("stopped")

    def fail(self, fault: Fault) -> None:
        self.fault = fault
        self._end("fault")
        self._whole.set()

    def answer(self, words: Answer | None) -> None:
        """It is answered; the rest comes next."""
        self.words = words
        self._end("done")

    def let_words_go_first(self) -> None:
        """Waits until the rest is wanted, or the words are drawn, which needs the machine too."""
        if self.words is not None:
            self._wanted.wait(DRAWN_S)

    def want_the_rest(self) -> None:
        self._wanted.set()

    def complete(self, outcome: Any) -> None:
        """The rest of the answer."""
        self._outcome = outcome
        self._whole.set()

    @property
    def lacks_the_rest(self) -> bool:
        """Whether an end of the process would end it: before its answer, or before all of it is here."""
        return self.state == "running" or (self.state == "done" and not self._whole.is_set())

    def _end(self, state: State) -> None:
        self.state = state
        self.sources = None
        self._changed()

    def _changed(self) -> None:
        self.version += 1
        for told in tuple(self._heard):
            told()
