"""Numbers needed where electrodes have several values or batches several electrodes."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.cache import decode, encode
from halfcell.comparison.compare import Margin, compare
from halfcell.comparison.planning import nested_need
from halfcell.comparison.samples import gather
from halfcell.finding import Finding, Findings


def _row(name: str, electrode: str, value: float, field: int | None) -> Finding:
    return Finding(
        name=name,
        value=value,
        unit="percent",
        electrode=electrode,
        group=electrode[0],
        condition="" if field is None else f"{electrode} field {field}",
        method="m",
        source="s",
    )


def _table(
    gap: float,
    between: float,
    below: float,
    electrodes: int,
    fields: int,
    *,
    name: str = "coverage",
    seed: int = 2,
) -> Findings:
    rng = np.random.default_rng(seed)
    rows, attributes = [], {}
    for group, mean in (("A", 50.0), ("B", 50.0 + gap)):
        for i in range(electrodes):
            own = rng.normal(mean, between)
            attributes[f"{group}{i}"] = {"material": group}
            rows += [
                _row(name, f"{group}{i}", float(rng.normal(own, below)), field if fields > 1 else None)
                for field in range(fields)
            ]
    return Findings(tuple(rows), attributes)


def test_simulation_and_exact_power_agree_with_as_many_below_as_now() -> None:
    c = compare(_table(0.0, 1.0, 2.0, 5, 4), "coverage", margin=Margin(value=3.0))
    (pair,) = c.pairs
    assert pair.nested is not None
    assert pair.needed is not None
    assert pair.nested.needed is not None
    assert pair.nested.inside == 4
    assert abs(pair.nested.needed - pair.needed) <= 1
    assert decode(encode(c)).pairs[0].nested == pair.nested


def test_more_below_helps_only_where_the_scatter_is_below() -> None:
    def needed(between: float, below: float) -> tuple[int, int]:
        samples = gather(_table(0.0, between, below, 12, 4), "coverage")
        found = nested_need(samples.groups, 3.0, 0.05, 12, batches=False)
        assert found is not None
        assert found.needed is not None
        assert found.needed_twice is not None
        return found.needed, found.needed_twice

    now, twice = needed(0.1, 5.0)
    assert twice < 0.7 * now
    now, twice = needed(3.0, 0.3)
    assert now - twice <= 1


def test_batches_are_counted_where_they_are_independent() -> None:
    table = _table(0.5, 1.0, 0.1, 6, 1)
    attributes = {e: {**known, "batch": f"{e[0]}{int(e[1:]) % 3}"} for e, known in table.attributes.items()}
    c = compare(Findings(table.rows, attributes), "coverage", margin=Margin(value=4.0))
    assert c.independent == "batches"
    (pair,) = c.pairs
    assert pair.nested is not None
    assert pair.nested.inside == 2


@pytest.mark.parametrize(("gap", "fields"), [(0.0, 1), (60.0, 3)])
def test_nothing_is_simulated_without_need(gap: float, fields: int) -> None:
    # One value an electrode, or a pair already shown to differ.
    (pair,) = compare(_table(gap, 1.0, 0.5, 4, fields), "coverage").pairs
    assert pair.nested is None


@pytest.mark.parametrize("reference", ["", "A"])
@pytest.mark.parametrize("electrodes", [4, 6])
def test_limits_by_bootstrap_are_named(electrodes: int, reference: str) -> None:
    table = _table(0.0, 5.0, 0.0, electrodes, 1, name="limit_of_detection")
    c = compare(table, "limit_of_detection", reference=reference)
    (found,) = [a for a in c.alternatives if a.method.startswith("Ratios of limits by bootstrap")]
    assert found.able == (electrodes >= 5)
    assert found.able or "fewer than five" in found.note
