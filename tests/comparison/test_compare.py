"""Comparison of groups from the table of findings."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.cache import decode, encode
from halfcell.comparison.compare import Margin, compare
from halfcell.errors import MethodError
from halfcell.finding import Finding, Findings
from halfcell.results import same


def _finding(electrode: str, value: float, condition: str = "") -> Finding:
    return Finding(
        name="coverage",
        value=value,
        standard_uncertainty=0.1,
        unit="percent",
        electrode=electrode,
        group=electrode[0],
        condition=condition,
        method="m",
        source="s",
    )


def _table(means: dict[str, float], n: int = 5, s: float = 1.0, seed: int = 0, **roles: str) -> Findings:
    rng = np.random.default_rng(seed)
    rows, attributes = [], {}
    for name, mean in means.items():
        for i in range(n):
            rows.append(_finding(f"{name}{i}", float(rng.normal(mean, s))))
            attributes[f"{name}{i}"] = {
                "material": name,
                "role": roles.get(name, "candidate"),
                "half": str(i % 2),
            }
    return Findings(tuple(rows), attributes)


def test_letters_intervals_and_claims_agree() -> None:
    c = compare(_table({"A": 10, "B": 20, "C": 20.2, "D": 40}), "coverage")
    assert c.group("D").letters == "a"
    assert set(c.group("B").letters) & set(c.group("C").letters)
    for p in c.pairs:
        assert p.different == (not p.interval.low <= 0 <= p.interval.high) == (p.p < 0.05)
        shared = set(c.group(p.first).letters) & set(c.group(p.second).letters)
        assert bool(shared) != p.different
    assert not c.depends


def test_fields_of_one_electrode_are_not_electrodes() -> None:
    rows, attributes = [], {}
    rng = np.random.default_rng(3)
    for name in ("A", "B"):
        for i in range(3):
            centre = rng.normal(10, 2)
            attributes[f"{name}{i}"] = {"material": name}
            rows += [
                _finding(f"{name}{i}", float(rng.normal(centre, 0.1)), f"{name}{i} field {k}")
                for k in range(5)
            ]
    c = compare(Findings(tuple(rows), attributes), "coverage")
    assert [g.n for g in c.groups] == [3, 3]
    assert all(len(s.parts) == 5 for g in c.groups for s in g.group.samples)


def test_conditions_shared_by_electrodes_are_kept_apart() -> None:
    rows = [
        _finding(f"{n}{i}", v + k * 100, f"level {k}")
        for n, v in (("A", 1.0), ("B", 2.0))
        for i in range(3)
        for k in range(2)
    ]
    table = Findings(tuple(rows), {f"{n}{i}": {"material": n} for n in "AB" for i in range(3)})
    with pytest.raises(MethodError, match="No electrode"):
        compare(table, "coverage", condition="level 7")
    c = compare(table, "coverage", condition="level 1")
    assert [g.mean.value for g in c.groups] == [101.0, 102.0]
    assert c.test == "none"
    assert "scatter" in c.reason


def test_other_roles_stand_apart_and_single_electrodes_are_not_tested() -> None:
    table = _table({"A": 10, "B": 20, "C": 5}, C="bare")
    c = compare(table, "coverage")
    assert [g.name for g in c.groups] == ["A", "B"]
    assert [g.name for g in c.apart] == ["bare, C"]
    both = compare(table, "coverage", roles=("candidate", "bare"))
    assert [g.name for g in both.groups] == ["A", "B", "C"]
    lone = Findings(tuple(f for f in table if f.electrode[0] != "B" or f.electrode == "B0"), table.attributes)
    c = compare(lone, "coverage")
    assert any("one electrode" in n for n in c.notes)
    assert "Fewer than two groups" in c.reason


def test_same_needs_a_margin_and_enough_data() -> None:
    table = _table({"A": 100, "B": 100.2}, n=6, s=1.0, seed=4)
    assert compare(table, "coverage").pairs[0].same is None
    assert compare(table, "coverage", margin=Margin(value=0.05, relative=True)).pairs[0].same is True
    narrow = compare(table, "coverage", margin=Margin(value=0.3))
    assert narrow.pairs[0].same is False
    assert narrow.pairs[0].needed is not None
    assert narrow.pairs[0].needed > 100
    assert compare(table, "coverage", margin=Margin(value=0.01)).pairs[0].needed is None


def test_reference_narrows_the_family() -> None:
    table = _table({"A": 10, "B": 11, "C": 12, "D": 13})
    c = compare(table, "coverage", reference="A")
    assert {p.name for p in c.pairs} == {"A − B", "A − C", "A − D"}
    whole = compare(table, "coverage").pair("A", "D")
    part = c.pair("A", "D")
    assert whole is not None
    assert part is not None
    assert part.p < whole.p


def test_ranks_of_three_say_that_they_cannot_tell() -> None:
    c = compare(_table({"A": 10, "B": 50, "C": 90}, n=3), "coverage")
    ranks = next(a for a in c.alternatives if "Mann" in a.method)
    assert not ranks.able
    assert "cannot fall below 0.1" in ranks.note


def test_by_any_attribute_and_kept_by_the_cache() -> None:
    c = compare(_table({"A": 10, "B": 20}, n=6), "coverage", by="half")
    assert [g.name for g in c.groups] == ["0", "1"]
    assert same(decode(encode(c)), c)


def test_nothing_to_compare() -> None:
    with pytest.raises(MethodError, match="No electrode has a value"):
        compare(Findings(()), "coverage")
