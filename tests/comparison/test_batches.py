"""Electrodes within batches are not independent."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.choice.choose import choose
from halfcell.choice.criteria import Criteria, Must
from halfcell.comparison.compare import compare
from halfcell.finding import Finding, Findings


def _table(
    groups: int, batches: int, each: int, *, shared: bool, effect: float, step: float = 0.0, seed: int = 0
) -> Findings:
    """``effect``: standard deviation between batches; ``step``: true difference from one group to the next."""
    rng = np.random.default_rng(seed)
    common = rng.normal(0, effect, batches)
    rows, attributes = [], {}
    for g in range(groups):
        own = common if shared else rng.normal(0, effect, batches)
        for b in range(batches):
            for i in range(each):
                name = f"{'ABCD'[g]}{b}{i}"
                value = float(100 + step * g + own[b] + rng.normal(0, 1))
                rows.append(
                    Finding(
                        name="sensitivity",
                        value=value,
                        unit="uA/(mmol/L)",
                        electrode=name,
                        group="ABCD"[g],
                        method="m",
                        source="s",
                    )
                )
                attributes[name] = {"material": "ABCD"[g], "batch": f"{b}" if shared else f"{'ABCD'[g]}{b}"}
    return Findings(tuple(rows), attributes)


def test_batches_that_hold_all_groups_fall_out() -> None:
    table = _table(3, 4, 2, shared=True, effect=40, step=6)
    c = compare(table, "sensitivity")
    assert c.independent == "batches"
    assert "within batches" in c.test
    assert all(p.different for p in c.pairs)
    assert not any(p.different for p in compare(table, "sensitivity", unit="electrodes").pairs)


def test_nested_batches_hold_the_error_that_electrodes_lose() -> None:
    false = {"": 0, "electrodes": 0}
    for seed in range(30):
        table = _table(3, 3, 3, shared=False, effect=3, seed=seed)
        for unit in false:
            false[unit] += any(p.different for p in compare(table, "sensitivity", unit=unit).pairs)
    assert false[""] / 30 <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 30)
    assert false["electrodes"] / 30 > 0.3


def test_the_mixed_model_stands_beside() -> None:
    c = compare(_table(3, 3, 2, shared=False, effect=1, step=8), "sensitivity")
    assert [g.n for g in c.groups] == [3, 3, 3]
    assert c.groups[0].group.samples[0].electrode.startswith("batch ")
    assert any("Mixed model" in a.method for a in c.alternatives)


def test_one_batch_a_group_is_said() -> None:
    c = compare(_table(3, 1, 4, shared=False, effect=1), "sensitivity")
    assert c.independent == "electrodes"
    assert any("batch of its own" in n for n in c.notes)
    mixed = compare(_table(3, 1, 4, shared=True, effect=1), "sensitivity")
    assert any("of one batch" in n for n in mixed.notes)


def test_a_must_counts_batches_too() -> None:
    table = _table(2, 3, 3, shared=False, effect=3)
    must = Must(finding="sensitivity", at_least=90, unit="uA/(mmol/L)")
    plain = choose(table, Criteria(musts=(must,)), unit="electrodes").musts[0].estimate
    nested = choose(table, Criteria(musts=(must,))).musts[0].estimate
    assert (plain.n, nested.n) == (9, 3)
    assert nested.mean.df == 2
    assert nested.mean.value == pytest.approx(plain.mean.value)
