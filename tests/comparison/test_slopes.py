"""Slopes compared from the points beside the electrodes' own slopes."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.cache import decode, encode
from halfcell.comparison.compare import Comparison, compare
from halfcell.comparison.result import Alternative
from halfcell.comparison.slopes import METHOD, MOST, Points
from halfcell.finding import Finding, Findings

LEVELS = np.array([0.0, 1.0, 2.0, 4.0, 8.0])


def _study(
    slopes: dict[str, float], n: int = 4, between: float = 0.3, seed: int = 1, batches: int = 0
) -> tuple[Findings, Points]:
    rng = np.random.default_rng(seed)
    rows, attributes, y, electrode = [], {}, [], []
    for name, slope in slopes.items():
        for i in range(n):
            own = rng.normal(0, 1) + rng.normal(slope, between) * LEVELS + rng.normal(0, 0.2, LEVELS.size)
            fitted = float(np.polyfit(LEVELS, own, 1)[0])
            rows.append(
                Finding(
                    name="sensitivity",
                    value=fitted,
                    unit="uA/(mmol/L)",
                    electrode=f"{name}{i}",
                    group=name,
                    method="m",
                    source="s",
                )
            )
            attributes[f"{name}{i}"] = {"material": name}
            if batches:
                attributes[f"{name}{i}"]["batch"] = f"{name}{i % batches}"
            y += own.tolist()
            electrode += [f"{name}{i}"] * LEVELS.size
    points = Points(x=np.tile(LEVELS, len(slopes) * n), y=np.array(y) * 1e-6, electrode=tuple(electrode))
    return Findings(tuple(rows), attributes), points


def _interaction(c: Comparison) -> Alternative:
    return next(a for a in c.alternatives if a.method == METHOD)


def test_it_agrees_where_the_slopes_differ_clearly() -> None:
    table, points = _study({"A": 3.0, "B": 9.0})
    c = compare(table, "sensitivity", points=points)
    found = _interaction(c)
    assert (found.able, found.adds, found.takes) == (True, (), ())
    assert "scatter alike" in found.note
    assert c.test != METHOD
    assert decode(encode(c)).alternatives == c.alternatives


def test_what_it_alone_would_claim_is_named() -> None:
    # Many quiet electrodes elsewhere make a small difference visible to a model that shares one scatter.
    table, points = _study({"A": 3.0, "B": 4.2, "C": 20.0, "D": 30.0}, n=3)
    c = compare(table, "sensitivity", points=points)
    assert _interaction(c).adds == ("A − B",)
    assert not c.pair("A", "B").different  # type: ignore[union-attr]
    assert c.depends


def test_a_reference_keeps_its_pairs_only() -> None:
    table, points = _study({"A": 3.0, "B": 4.2, "C": 20.0, "D": 30.0}, n=3)
    c = compare(table, "sensitivity", points=points, reference="D")
    assert len(c.pairs) == 3
    assert not any(name == "A − B" for name in _interaction(c).adds)


@pytest.mark.parametrize(
    ("change", "why"),
    [("missing", "no calibration points of A0"), ("many", str(MOST)), ("one level", "one level")],
)
def test_it_says_why_it_cannot(change: str, why: str) -> None:
    table, points = _study({"A": 3.0, "B": 9.0})
    if change == "missing":
        keep = np.array([e != "A0" for e in points.electrode])
        points = Points(
            x=points.x[keep], y=points.y[keep], electrode=tuple(e for e in points.electrode if e != "A0")
        )
    elif change == "many":
        points = Points(x=np.tile(points.x, 20), y=np.tile(points.y, 20), electrode=points.electrode * 20)
    else:
        points = Points(x=np.ones_like(points.x), y=points.y, electrode=points.electrode)
    found = _interaction(compare(table, "sensitivity", points=points))
    assert not found.able
    assert why in found.note


def test_batches_are_not_overruled() -> None:
    table, points = _study({"A": 3.0, "B": 9.0}, n=6, batches=3)
    c = compare(table, "sensitivity", points=points)
    assert c.independent == "batches"
    assert not _interaction(c).able
