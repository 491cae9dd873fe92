"""What a maker is asking for: kept by the server, checked by revision, with every step to go back to."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field, replace

from optimiser.domain.moved import Moved

MOST_DRAFTS = 200
MOST_STEPS = 100


@dataclass(frozen=True, slots=True)
class Asking:
    """One request in words: ids of briefs, `leave_out` as on the command line ("flag:bee"), swaps, limits."""

    briefs: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    swaps: tuple[tuple[str, str], ...] = ()
    only_shelf: bool = False
    aim: str = ""
    moved: tuple[Moved, ...] = ()
    alternatives: int = 0

    @property
    def said(self) -> dict[str, object]:
        """Keys as `workflows.ask` reads them."""
        return {
            "briefs": self.briefs,
            "leave_out": self.leave_out,
            "instead_of": tuple(out for out, _ in self.swaps),
            "use": tuple(use for _, use in self.swaps),
            "only_from": "shelf" if self.only_shelf else "",
            "aim": (self.aim,) if self.aim else (),
            "moved": self.moved,
            "alternatives": self.alternatives,
        }

    @property
    def empty(self) -> bool:
        return replace(self, alternatives=0) == Asking()

    def with_limit(self, moved: Moved) -> Asking:
        """With this limit in place of an earlier one on the same rule; what was allowed stays allowed."""
        rest = tuple(one for one in self.moved if one.rule != moved.rule)
        earlier = (one.but_for for one in self.moved if one.rule == moved.rule)
        if moved.but_for:
            allowed = {name for names in (*earlier, moved.but_for) for name in names}
            moved = replace(moved, but_for=tuple(sorted(allowed)))
        return replace(self, moved=(*rest, moved))

    def without_limit(self, rule: str) -> Asking:
        return replace(self, moved=tuple(one for one in self.moved if one.rule != rule))


@dataclass(frozen=True, slots=True)
class Draft:
    """`revision` grows with every change; `tab` made the last one. `past` and `later` are steps to go to.

    `stamp` is that of the files it is worked on, `passed` that of changed files that were not taken up.
    `stepped`: the limit that the last change stepped; more steps of it in a row are one to go back.
    `lost`: the files it was worked on are not held any more, so that it went on with the files as they are.
    """

    id: str
    formula: str
    asking: Asking = Asking()
    revision: int = 0
    tab: str = ""
    past: tuple[Asking, ...] = ()
    later: tuple[Asking, ...] = ()
    stamp: int = 0
    passed: int = 0
    lost: bool = False
    stepped: str = ""


class Stale(Exception):  # noqa: N818  # it is no fault: somebody else was there first
    """The draft moved on in another tab; `draft` is what it is now."""

    def __init__(self, draft: Draft) -> None:
        super().__init__(draft.id)
        self.draft = draft


@dataclass
class Drafts:
    """All drafts of one server, the oldest forgotten first. Safe to call from several threads."""

    _held: OrderedDict[str, Draft] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def start(self, formula: str, asking: Asking | None = None, stamp: int = 0) -> Draft:
        draft = Draft(secrets.token_hex(5), formula, asking or Asking(), stamp=stamp)
        with self._lock:
            self._held[draft.id] = draft
            while len(self._held) > MOST_DRAFTS:
                self._held.popitem(last=False)
        return draft

    def get(self, name: str) -> Draft | None:
        with self._lock:
            return self._held.get(name)

    def change(self, name: str, asking: Asking, revision: int, tab: str = "", stepped: str = "") -> Draft:
        """Raises Stale where another tab was there first, KeyError for a draft that is gone.

        `stepped` names the limit that was moved by a step of a key.
        """
        with self._lock:
            now = self._current(name, revision, tab)
            if asking == now.asking:
                return now
            goes_on = stepped and stepped == now.stepped and now.past
            past = now.past if goes_on else (*now.past, now.asking)[-MOST_STEPS:]
            if past[-1] == asking:  # stepped back to where it began
                past, stepped = past[:-1], ""
            return self._put(replace(now, asking=asking, past=past, later=(), tab=tab, stepped=stepped))

    def begin(self, name: str, stamp: int, *, lost: bool = False) -> Draft:
        """Works on the files of this stamp; it is no step of the maker's.

        `lost` stays until a later change of the files is taken up: what was shown before is of other files.
        """
        with self._lock:
            now = self._held[name]
            self._held[name] = found = replace(now, stamp=stamp, passed=0, lost=lost or now.lost)
            return found

    def stamps(self) -> tuple[int, ...]:
        """Of the files that requests are worked on, that of the latest request last."""
        with self._lock:
            return tuple(one.stamp for one in self._held.values())

    def is_lost(self, name: str) -> bool:
        """Whether the draft went on with other files than it was worked on."""
        with self._lock:
            return name in self._held and self._held[name].lost

    def take_up(self, name: str, stamp: int, tab: str = "") -> Draft:
        """Goes on with changed files: all that is shown is of them from now on."""
        with self._lock:
            return self._put(replace(self._held[name], stamp=stamp, passed=0, lost=False, tab=tab))

    def stay(self, name: str, stamp: int) -> Draft:
        """Leaves the changed files of this stamp alone."""
        with self._lock:
            self._held[name] = found = replace(self._held[name], passed=stamp)
            return found

    def undo(self, name: str, revision: int, tab: str = "") -> Draft:
        with self._lock:
            now = self._current(name, revision, tab)
            if not now.past:
                return now
            past, later = now.past[:-1], (now.asking, *now.later)
            return self._put(replace(now, asking=now.past[-1], past=past, later=later, tab=tab, stepped=""))

    def redo(self, name: str, revision: int, tab: str = "") -> Draft:
        with self._lock:
            now = self._current(name, revision, tab)
            if not now.later:
                return now
            past, later = (*now.past, now.asking), now.later[1:]
            return self._put(replace(now, asking=now.later[0], past=past, later=later, tab=tab, stepped=""))

    def _current(self, name: str, revision: int, tab: str) -> Draft:
        now = self._held[name]
        if now.revision != revision and not (tab and tab == now.tab):
            raise Stale(now)
        return now

    def _put(self, draft: Draft) -> Draft:
        found = replace(draft, revision=draft.revision + 1)
        self._held[draft.id] = found
        self._held.move_to_end(draft.id)
        return found
