"""One-way analysis of variance against NIST."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy

from halfcell.errors import MethodError
from halfcell.statistics.groups_anova import one_way
from published import HANDBOOK, PLANTS

FOLDER = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova"
# Digits that float64 input leaves: NIST's sets of higher difficulty hold 7 and 13 constant leading digits.
DIGITS = {
    "SiRstv": 12, "AtmWtAg": 9, "SmLs01": 13, "SmLs02": 13, "SmLs03": 13,
    "SmLs04": 9, "SmLs05": 9, "SmLs06": 9, "SmLs07": 2, "SmLs08": 2, "SmLs09": 2,
}  # fmt: skip


def _nist(name: str) -> tuple[list[np.ndarray], dict[str, float]]:
    lines = (FOLDER / f"{name}.dat").read_text().splitlines()
    certified = {}
    for line in lines[40:60]:
        numbers = re.findall(r"[-+]?\d+\.?\d*E?[-+]?\d*", line)
        if line.startswith("Between"):
            certified["between"], certified["f"] = float(numbers[1]), float(numbers[3])
        elif line.startswith("Within"):
            certified["within"] = float(numbers[1])
        elif "Certified R-Squared" in line:
            certified["r_squared"] = float(numbers[-1])
        elif "Standard Deviation" in line and numbers:
            certified["residual_s"] = float(numbers[-1])
    data = np.loadtxt(lines[60:])
    return [data[data[:, 0] == g, 1] for g in np.unique(data[:, 0])], certified


@pytest.mark.reference(
    "One-way analysis of variance, 11 sets",
    "NIST StRD Analysis of Variance (files in the scipy wheel)",
    "seen",
)
@pytest.mark.parametrize("name", sorted(DIGITS))
def test_nist_sets(name: str) -> None:
    if not FOLDER.is_dir():
        pytest.skip("this scipy comes without its test data")
    groups, certified = _nist(name)
    table = one_way(groups)
    for key in ("f", "between", "within", "r_squared", "residual_s"):
        value = certified.get(key)
        if value is not None:
            assert getattr(table, key) == pytest.approx(value, rel=10.0 ** -DIGITS[name]), key


@pytest.mark.reference("F of four groups of five", "NIST/SEMATECH e-Handbook 7.4.7.1 and 7.4.3", "seen")
def test_handbook() -> None:
    table = one_way(HANDBOOK)
    assert (table.df_between, table.df_within) == (3, 16)
    assert table.f == pytest.approx(9.72384, abs=5e-6)
    assert table.within / table.df_within == pytest.approx(1.33075, abs=5e-6)
    three = one_way(HANDBOOK[:3])
    assert (three.between, three.within) == (pytest.approx(27.897, abs=5e-4), pytest.approx(17.452, abs=5e-4))
    assert three.p == pytest.approx(0.00324822, rel=1e-5)


@pytest.mark.reference("F of PlantGrowth", "R aov, data set PlantGrowth", "recomputed")
def test_plants() -> None:
    table = one_way(PLANTS)
    assert table.f == pytest.approx(4.84609, abs=5e-6)
    assert table.p == pytest.approx(0.01591, abs=5e-6)


def test_refusals() -> None:
    with pytest.raises(MethodError, match="2 or more groups"):
        one_way([[1.0, 2.0]])
    with pytest.raises(MethodError, match="no degrees of freedom"):
        one_way([[1.0], [2.0]])
    with pytest.raises(MethodError, match="scatter"):
        one_way([[1.0, 1.0], [2.0, 2.0]])
    with pytest.raises(MethodError, match="no numbers"):
        one_way([[1.0, float("nan")], [2.0, 2.0]])
