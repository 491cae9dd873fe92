"""Changes to the tables under way, what was typed and the files as they were shown; and what was written."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal
from urllib.parse import urlencode

from starlette.exceptions import HTTPException

from optimiser.domain.changes import Wish
from optimiser.loading.described import INGREDIENTS, Described
from optimiser.loading.reference import load_vocabulary
from optimiser.page.addresses import screen_of
from optimiser.page.taking import Taken
from optimiser.workflows.table import Plan, digest_of

MOST_KEPT = 60
MOST_VERSIONS = 40
MOST_BYTES = 40_000_000
"""What all changes under way, all states of files shown, and all writes hold at most, each for itself."""
PAPER = ("source", "date")
"""What several flags told at once have in common."""
Kind = Literal["edit", "add", "several", "remove", "bring"]


def mark_of(flag: str) -> str:
    """The field in which the state of the flag stands, where several are told at once."""
    return f"flag:{flag}"


@dataclass(frozen=True, slots=True)
class At:
    """A row: of which table, of which ingredient (`owner`) where that is not the table of ingredients, and
    what tells it from the others. Without `row` it is one to be added.
    """

    described: Described = INGREDIENTS
    owner: str = ""
    row: str = ""

    @property
    def file(self) -> str:
        return self.described.file

    @property
    def address(self) -> str:
        """Where its form stands, and is posted to."""
        if not self.owner:
            return screen_of(self.row) if self.row else "/ingredients/add"
        return self.under("row" if self.row else "add")

    @property
    def out(self) -> str:
        """Where it is asked to be taken out."""
        return self.under("remove") if self.owner else f"{self.address}/remove"

    @property
    def home(self) -> str:
        """The screen on which it stands with others: of its ingredient, or the list of them."""
        name = self.owner or self.row
        return screen_of(name) if name else "/ingredients"

    def under(self, what: str) -> str:
        """An address of its table, below its ingredient."""
        row = f"?{urlencode({'row': self.row})}" if self.row else ""
        return f"{screen_of(self.owner)}/{self.described.name}/{what}{row}"


@dataclass(frozen=True, slots=True)
class Edit:
    """One change under way. `typed` are all cells of the row as typed, `was` as they were shown before that;
    `base` holds the files as they were shown, by name, None for one that was not there.
    """

    id: str
    kind: Kind
    at: At
    base: Mapping[str, bytes | None]
    typed: Mapping[str, str] = field(default_factory=dict)
    was: Mapping[str, str] = field(default_factory=dict)
    taken: Taken | None = None
    empty_too: bool = False
    written: bool = False

    @property
    def mine(self) -> dict[str, str]:
        """The cells that were typed anew."""
        return {name: text for name, text in self.typed.items() if text != self.was.get(name, "")}

    @property
    def wishes(self) -> tuple[Wish, ...]:
        match self.kind:
            case "edit":
                return (Wish(self.at.row, self.mine, self.typed),)
            case "add":
                return (Wish("", {}, self.typed, fresh=True),)
            case "remove":
                return (Wish(self.at.row, gone=True),)
            case "several":
                paper = {name: self.typed.get(name, "") for name in PAPER}
                told = ((flag, self.typed.get(mark_of(flag), "")) for flag in load_vocabulary().flags)
                return tuple(
                    Wish(
                        "",
                        {},
                        {"ingredient": self.at.owner, "flag": flag, "state": state, **paper},
                        fresh=True,
                    )
                    for flag, state in told
                    if state
                )
            case "bring":
                return ()

    @property
    def home(self) -> str:
        """The screen of its ingredient, which may have another id once that was written; else the list."""
        if self.at.owner or self.kind == "bring":
            return self.at.home
        gone = self.written and self.kind == "remove"
        return At(row="" if gone else self.typed.get("id", "") if self.written else self.at.row).home

    @property
    def weight(self) -> int:
        """Bytes that it holds."""
        sent = len(self.taken.content) if self.taken else 0
        return sent + sum(len(data or b"") for data in self.base.values())

    def put_down(self) -> Edit:
        """As it stands once it was written, without the files."""
        return replace(self, written=True, base={}, taken=self.taken and Taken(self.taken.name, b""))


def weight_of(plan: Plan) -> int:
    return sum(len(one.before or b"") + len(one.after or b"") for one in plan.files)


@dataclass
class Written:
    """What was written, in order, and what of it was taken back; the oldest is forgotten first.

    `forgotten` counts writes that can no longer be taken back.
    """

    done: list[Plan] = field(default_factory=list)
    undone: list[Plan] = field(default_factory=list)
    forgotten: int = 0

    def add(self, plan: Plan) -> None:
        self.done.append(plan)
        self.undone.clear()
        held = sum(map(weight_of, self.done))
        while len(self.done) > 1 and (len(self.done) > MOST_KEPT or held > MOST_BYTES):
            held -= weight_of(self.done.pop(0))
            self.forgotten += 1

    def step(self, *, back: bool) -> None:
        """Notes that the last write was taken back, or that the last one taken back was written again."""
        here, there = (self.done, self.undone) if back else (self.undone, self.done)
        there.append(here.pop())


@dataclass
class Edits:
    """All of one server, the oldest forgotten first. Who writes holds `writing` from looking to noting it."""

    history: Written = field(default_factory=Written)
    writing: threading.Lock = field(default_factory=threading.Lock)
    _held: OrderedDict[str, Edit] = field(default_factory=OrderedDict)
    _versions: OrderedDict[str, bytes] = field(default_factory=OrderedDict)
    _lock: threading.RLock = field(default_factory=threading.RLock)

    def shown(self, data: bytes | None) -> str:
        """Keeps a table as it is shown; its digest. Nothing for one that is not there yet."""
        if data is None:
            return ""
        digest = digest_of(data)
        with self._lock:
            self._versions[digest] = data
            self._versions.move_to_end(digest)
            while len(self._versions) > 1 and (
                len(self._versions) > MOST_VERSIONS or sum(map(len, self._versions.values())) > MOST_BYTES
            ):
                self._versions.popitem(last=False)
        return digest

    def version(self, digest: str) -> bytes | None:
        with self._lock:
            return self._versions.get(digest)

    def start(self, edit: Edit) -> Edit:
        """The edit under a name of its own."""
        named = replace(edit, id=secrets.token_hex(8))
        with self._lock:
            self._keep(named)
        return named

    def swap(self, edit: Edit, other: Edit) -> bool:
        """Puts `other` in the place of the edit, unless that is not what is held any more."""
        with self._lock:
            same = self._held.get(edit.id) is edit
            if same:
                self._keep(other)
        return same

    def _keep(self, edit: Edit) -> None:
        self._held[edit.id] = edit
        self._held.move_to_end(edit.id)
        while len(self._held) > 1 and (
            len(self._held) > MOST_KEPT or sum(one.weight for one in self._held.values()) > MOST_BYTES
        ):
            self._held.popitem(last=False)

    def get(self, name: str) -> Edit:
        """Raises HTTPException 404 for one that is gone."""
        with self._lock:
            found = self._held.get(name)
        if found is None:
            raise HTTPException(
                404, "This change is not held any more; what was written stays. Start again from the table."
            )
        return found

    def written(self, edit: Edit, plan: Plan) -> None:
        """Called by who holds `writing`."""
        with self._lock:
            self.history.add(plan)
            self._keep(edit.put_down())
