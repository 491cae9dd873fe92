"""Says what is going on once it takes longer than a second, on standard error."""

from __future__ import annotations

import sys
import threading
from types import TracebackType

PATIENCE = 1.0


class Progress:
    """Used as a context; `tell` sets what is being done. Silent when the work is quick."""

    def __init__(self) -> None:
        self._text = ""
        self._shown = ""
        self._speaking = False
        self._timer = threading.Timer(PATIENCE, self._begin)
        self._timer.daemon = True

    def __enter__(self) -> Progress:
        self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._timer.cancel()
        if self._shown and sys.stderr.isatty():
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    def tell(self, text: str) -> None:
        self._text = text
        if self._speaking:
            self._say()

    def _begin(self) -> None:
        self._speaking = True
        self._say()

    def _say(self) -> None:
        if not self._text or self._text == self._shown:
            return
        self._shown = self._text
        line = f"… {self._text}"
        sys.stderr.write(f"\r\x1b[K{line}" if sys.stderr.isatty() else f"{line}\n")
        sys.stderr.flush()
