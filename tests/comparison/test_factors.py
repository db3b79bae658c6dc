"""Several attributes at once."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.comparison.compare import compare
from halfcell.comparison.factors import compare_factors
from halfcell.errors import MethodError
from halfcell.finding import Finding, Findings


def _table(*, skip: tuple[str, str] = ("", "")) -> Findings:
    rng = np.random.default_rng(1)
    rows, attributes = [], {}
    for a in ("no", "yes"):
        for b in ("no", "yes"):
            for i in range(4):
                if (a, b) == skip:
                    continue
                name = f"{a}{b}{i}"
                both = a == b == "yes"
                value = 2.0 + 20.0 * both + rng.normal(0, 0.5)
                rows.append(
                    Finding(
                        name="peak_current", value=value, unit="uA", electrode=name, method="m", source="s"
                    )
                )
                role = "candidate" if both else "control"
                attributes[name] = {"material": "nickel", "role": role, "seeding": a, "plating": b}
    return Findings(tuple(rows), attributes)


def test_both_steps_are_needed_together() -> None:
    c = compare_factors(_table(), "peak_current", ("seeding", "plating"))
    assert c.n == 16
    assert c.found.effect("seeding", "plating").p < 1e-6


def test_a_missing_combination_is_said() -> None:
    c = compare_factors(_table(skip=("no", "yes")), "peak_current", ("seeding", "plating"))
    assert [e.name for e in c.found.effects] == ["seeding", "plating"]
    assert any("not every combination" in n for n in c.notes)


def test_an_attribute_nobody_states() -> None:
    with pytest.raises(MethodError, match="No electrode has a value"):
        compare_factors(_table(), "peak_current", ("seeding", "colour"))


def test_dunnett_stands_beside_a_reference() -> None:
    c = compare(_table(), "peak_current", by="seeding", roles=("candidate", "control"), reference="no")
    assert [a.method for a in c.alternatives] == ["Dunnett, against a reference"]
