"""What a change sets off, and what people have to mind."""

from __future__ import annotations

from optimiser.search.effects import warnings
from tests.unit.export.jobs import mask_request


def test_a_line_that_guards_people_names_every_ingredient() -> None:
    request = mask_request()
    dusty = {
        one.name
        for name, one in request.ingredients.items()
        if one.way and "dust mask" in one.way.wear and request.base_of(name)
    }
    assert len(dusty) > 4
    (said,) = (one.text for one in warnings(request, request.base) if "dust mask" in one.text)
    assert set(said.partition(": fitted")[0].split("; ")) == dusty
