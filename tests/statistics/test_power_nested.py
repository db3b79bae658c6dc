"""Power of nested designs by simulation."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.power import Design, welch_power
from halfcell.statistics.power_nested import NestedDesign, nested_power


def test_without_nesting_it_is_the_exact_power() -> None:
    design = NestedDesign(electrodes=5, between_electrodes=1.0)
    found = nested_power(2.0, design, np.random.default_rng(1))
    assert found.power == pytest.approx(welch_power(2.0, Design(s1=1, s2=1, n1=5, n2=5)), abs=4 * found.u)


def test_more_fields_do_not_replace_electrodes() -> None:
    rng = np.random.default_rng(2)
    few = nested_power(
        2.5, NestedDesign(electrodes=3, fields=5, between_electrodes=1.0, within_electrodes=0.5), rng
    ).power
    fields = nested_power(
        2.5, NestedDesign(electrodes=3, fields=50, between_electrodes=1.0, within_electrodes=0.5), rng
    ).power
    electrodes = nested_power(
        2.5, NestedDesign(electrodes=6, fields=5, between_electrodes=1.0, within_electrodes=0.5), rng
    ).power
    assert fields - few < 0.05
    assert electrodes - few > 0.2


def test_batches_are_the_units_where_there_are_several() -> None:
    rng = np.random.default_rng(3)
    design = NestedDesign(batches=4, electrodes=3, between_batches=1.0, between_electrodes=0.5)
    assert design.units == 4
    null = nested_power(0.0, design, rng)
    assert null.power <= 0.05 + 4 * null.u
    # One batch a group: the test does not see the scatter between batches and errs far too often.
    assert (
        nested_power(
            0.0, NestedDesign(batches=1, electrodes=12, between_batches=1.0, between_electrodes=0.5), rng
        ).power
        > 0.5
    )


def test_refuses_one_of_each() -> None:
    with pytest.raises(MethodError, match="two or more"):
        nested_power(1.0, NestedDesign(electrodes=1, between_electrodes=1.0), np.random.default_rng(0))
