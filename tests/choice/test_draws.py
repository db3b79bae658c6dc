"""The probability of being best, against known truth; the scatter that is steadied."""

from __future__ import annotations

import numpy as np
import pytest

from choice.known_truth import study
from halfcell.choice.choose import choose
from halfcell.choice.criteria import Criteria, Want
from halfcell.choice.scatter import PRIOR, steadied
from halfcell.finding import Finding, Findings

WANTS = (
    Want(finding="a", aim="maximise", low=0, high=100),
    Want(finding="b", aim="minimise", low=0, high=100),
)


def _one(rng: np.random.Generator) -> tuple[float, bool]:
    """The leader's probability of being best, and whether it is: four candidates, 3 to 6 electrodes."""
    n, apart = int(rng.integers(3, 7)), float(rng.choice([0.5, 1, 2, 4, 8]))
    mu = 50 + apart * 4 / np.sqrt(n) * rng.standard_normal((4, 2))
    rows, attributes = [], {}
    for g in range(4):
        s = 4 * np.exp(0.3 * rng.standard_normal(2))
        for i in range(n):
            z = rng.standard_normal(2)
            z[1] = 0.6 * z[0] + 0.8 * z[1]
            name = f"{g}-{i}"
            attributes[name] = {"material": str(g)}
            rows += [
                Finding(
                    name=f,
                    value=float(mu[g, j] + s[j] * z[j]),
                    electrode=name,
                    group=str(g),
                    method="m",
                    source="s",
                )
                for j, f in enumerate("ab")
            ]
    choice = choose(
        Findings(tuple(rows), attributes), Criteria(wants=WANTS), count=300, seed=int(rng.integers(1 << 30))
    )
    score = np.sqrt(np.clip(mu[:, 0], 0, 100) * np.clip(100 - mu[:, 1], 0, 100))
    top = max(choice.ranked, key=lambda r: r.best)
    return top.best, int(top.candidate) == int(score.argmax())


@pytest.mark.slow
def test_probability_of_being_best_is_calibrated() -> None:
    """What is said agrees with what is right, in two halves (tools/choice_rates.py does it with thousands)."""
    rng = np.random.default_rng(20)
    said, right = np.array([_one(rng) for _ in range(350)]).T
    for low, high in ((0.25, 0.7), (0.7, 0.95), (0.95, 1.01)):
        here = (said >= low) & (said < high)
        assert here.sum() > 50
        expected = said[here].mean()
        tolerance = 3 * np.sqrt(max(expected * (1 - expected), 0.01) / here.sum()) + 0.04
        assert right[here].mean() == pytest.approx(expected, abs=tolerance)


def test_scatter_is_drawn_together_and_keeps_its_mean() -> None:
    table = study({"A": {"sensitivity": (20.0, 0.1)}, "B": {"sensitivity": (20.0, 4.0)}}, n=3, seed=4)
    choice = choose(table, Criteria(wants=(Want(finding="sensitivity", aim="maximise", low=0, high=40),)))
    before = [choice.estimate(m, "sensitivity") for m in "AB"]
    after = steadied([e for e in before if e is not None])
    assert [m.value for m in after] == [e.mean.value for e in before if e is not None]
    assert after[0].u > before[0].mean.u  # type: ignore[union-attr]
    assert after[1].u < before[1].mean.u  # type: ignore[union-attr]
    assert all(m.df == 2 + PRIOR for m in after)


def test_a_lone_electrode_takes_the_scatter_of_the_others() -> None:
    table = study(
        {
            "A": {"sensitivity": (20.0, 1.0)},
            "B": {"sensitivity": (40.0, 2.0)},
            "C": {"sensitivity": (30.0, 1.5)},
        },
        n={"A": 4, "B": 4, "C": 1},
        seed=5,
    )
    choice = choose(table, Criteria(wants=(Want(finding="sensitivity", aim="maximise", low=0, high=50),)))
    assert any(
        n.startswith("C: sensitivity") and "taken from the other candidates" in n for n in choice.notes
    )
    place = choice.place("C")
    assert place is not None
    assert place.desirability.u > 0.01
