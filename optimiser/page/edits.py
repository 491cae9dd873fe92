"""Changes to the table of ingredients under way: what was typed, and the files as they were shown."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from starlette.exceptions import HTTPException

from optimiser.domain.changes import Wish
from optimiser.page.taking import Taken
from optimiser.workflows.table import Plan, digest_of

MOST_KEPT = 60
MOST_VERSIONS = 40
MOST_BYTES = 40_000_000
Kind = Literal["edit", "add", "remove", "bring"]


@dataclass(frozen=True, slots=True)
class Edit:
    """One change under way. `typed` are all cells of the row as typed, `was` as they were shown before that;
    `base` holds the files as they were shown, by name.
    """

    id: str
    kind: Kind
    name: str
    base: Mapping[str, bytes]
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
                return (Wish(self.name, self.mine, self.typed),)
            case "add":
                return (Wish("", {}, self.typed, fresh=True),)
            case "remove":
                return (Wish(self.name, gone=True),)
            case "bring":
                return ()


@dataclass
class Edits:
    """All of one server, the oldest forgotten first. `last` is what was written last, for taking it back."""

    last: Plan | None = None
    _held: OrderedDict[str, Edit] = field(default_factory=OrderedDict)
    _versions: OrderedDict[str, bytes] = field(default_factory=OrderedDict)
    _lock: threading.RLock = field(default_factory=threading.RLock)

    def shown(self, data: bytes) -> str:
        """Keeps the table as it is shown; its digest."""
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
        return self.put(replace(edit, id=secrets.token_urlsafe(9)))

    def put(self, edit: Edit) -> Edit:
        with self._lock:
            self._held[edit.id] = edit
            self._held.move_to_end(edit.id)
            while len(self._held) > MOST_KEPT:
                self._held.popitem(last=False)
        return edit

    def get(self, name: str) -> Edit:
        """Raises HTTPException 404 for one that is gone."""
        with self._lock:
            found = self._held.get(name)
        if found is None:
            raise HTTPException(404, "This change is not held any more. Start again from the table.")
        return found

    def written(self, edit: Edit, plan: Plan) -> None:
        with self._lock:
            self.last = plan
            self.put(replace(edit, written=True))
