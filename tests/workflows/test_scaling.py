"""A proposal at several sizes: weights on which every rule holds, jars, and what to mind."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.domain.costs import Costs, Jar
from optimiser.errors import UsageError
from optimiser.workflows.scale import batch_for_jars, described, scale
from tests.workflows.desk import F, changed, copied
from tests.workflows.test_saving_and_sheets import saved


def test_every_size_weighs_out_to_itself_and_a_jar_grows_cheaper(tmp_path: Path) -> None:
    (path,) = saved(copied(tmp_path), "sensitive-skin")
    found = scale(path, ("250 g", "20 jars", "6 kg"))
    for size in found.sizes:
        assert sum(weight.weighed_g for weight in size.weights) == size.batch_g
        assert len(size.weights) == len(found.lines)
    costs = [size.jar.per_jar for size in found.sizes if size.jar]
    assert costs == sorted(costs, reverse=True)
    assert described(found.sizes[1]) == "2125 g, 20 jars"
    assert not any("First at this size" in text for text in found.sizes[0].minds)
    assert any("First at this size" in text for text in found.sizes[1].minds)


def test_a_size_that_cannot_be_weighed_says_why_and_the_others_stand(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (path,) = saved(folder, formula="sunflower-balm")
    changed(folder, "worktable.yaml", lambda text: text.replace("reads: 0.01 g", "reads: 0.1 g"))
    found = scale(path, ("20 g", "500 g"))
    assert "cannot be weighed out" in found.sizes[0].not_weighed
    assert found.sizes[1].weights


def test_so_many_jars_are_filled_and_not_one_less() -> None:
    costs = Costs(Jar(F(100), F(2)), waste=F("0.04"))
    for jars in (1, 7, 20, 333):
        batch = batch_for_jars(costs, jars)
        assert batch * F("0.96") // 102 == jars
        assert (batch - 1) * F("0.96") // 102 == jars - 1
    with pytest.raises(UsageError, match="jar"):
        batch_for_jars(Costs(), 3)
