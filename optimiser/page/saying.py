"""What a request asks after one of its forms was sent."""

from __future__ import annotations

from dataclasses import replace

from starlette.datastructures import FormData

from optimiser.errors import UsageError
from optimiser.page.drafts import Asking, Draft
from optimiser.page.show import Page, whole, word
from optimiser.workflows.ask import ask

MOST_ALTERNATIVES = 6


def said_in(page: Page, draft: Draft, form: FormData) -> Asking:
    """What the draft asks after this form. Raises UsageError for a name that is not there."""
    now, what, name = draft.asking, word(form, "what"), word(form, "name")
    if word(form, "undo") == "yes":
        return _taken_back(now, what, name)
    match what:
        case "leave-out" if name:
            found = replace(now, leave_out=tuple(dict.fromkeys((*now.leave_out, name))))
        case "swap":
            rest = tuple(pair for pair in now.swaps if pair[0] != name)
            found = replace(now, swaps=(*rest, (name, word(form, "use"))))
        case "shelf":
            found = replace(now, only_shelf=name == "yes")
        case "aim":
            found = replace(now, aim=name)
        case "brief":
            found = replace(now, briefs=tuple(str(b) for b in form.getlist("name") if b))
        case "more":
            found = replace(now, alternatives=min(whole(name), MOST_ALTERNATIVES))
        case _:
            raise UsageError("nothing was chosen", "choose something first")
    ask(page.sources(draft), draft.formula, found.said)
    return found


def _taken_back(now: Asking, what: str, name: str) -> Asking:
    match what:
        case "leave-out":
            return replace(now, leave_out=tuple(one for one in now.leave_out if one != name))
        case "swap":
            return replace(now, swaps=tuple(pair for pair in now.swaps if pair[0] != name))
        case "shelf":
            return replace(now, only_shelf=False)
        case "aim":
            return replace(now, aim="")
        case "brief":
            return replace(now, briefs=tuple(one for one in now.briefs if one != name))
        case "limit":
            return now.without_limit(name)
    return now
