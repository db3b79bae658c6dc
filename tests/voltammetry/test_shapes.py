from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.voltammetry import shapes

# n(E - E1/2) in mV along the scan (the sign of the printed table reversed) : pi^1/2 chi, exact column.
EXACT = (
    (-120, 0.0092439), (-100, 0.0198267), (-80, 0.0417868), (-60, 0.0849465), (-50, 0.118310), (-40, 0.160985), (-30, 0.212498), (-20, 0.270075),
    (-10, 0.328313), (0, 0.380105), (5, 0.401428), (10, 0.418846), (15, 0.432004), (20, 0.440807), (25, 0.445403), (28.4918, 0.4462947), (30, 0.446136),
    (35, 0.443491), (40, 0.438031), (50, 0.420972), (60, 0.399177), (80, 0.352959), (100, 0.312423), (120, 0.280212), (150, 0.244876),
)  # fmt: skip
PRINTED = (
    (-120, 0.009), (-100, 0.020), (-80, 0.042), (-60, 0.084), (-50, 0.117), (-45, 0.138), (-40, 0.160), (-35, 0.185), (-30, 0.211), (-25, 0.240),
    (-20, 0.269), (-15, 0.298), (-10, 0.328), (-5, 0.355), (0, 0.380), (5, 0.400), (10, 0.418), (15, 0.432), (20, 0.441), (25, 0.445), (28.5, 0.4463),
    (30, 0.446), (35, 0.443), (40, 0.438), (50, 0.421), (60, 0.399), (80, 0.353), (100, 0.312), (120, 0.280), (150, 0.245),
)  # fmt: skip


@pytest.mark.reference(
    "π^½χ of a reversible couple, 25 potentials, 7 digits",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact function by quadrature)",
    "derived",
)
def test_exact_column() -> None:
    at = np.array([e for e, _ in EXACT]) * 1e-3 / thermal_voltage()
    values = np.array([v for _, v in EXACT])
    np.testing.assert_allclose(shapes.reversible_exact(at), values, rtol=5e-6)
    np.testing.assert_allclose(shapes.reversible(at), values, rtol=1e-4)


@pytest.mark.reference(
    "π^½χ of a reversible couple, 30 printed rows within 0.002",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706, Table I",
    "from memory",
)
def test_printed_column() -> None:
    at = np.array([e for e, _ in PRINTED]) * 1e-3 / thermal_voltage()
    np.testing.assert_allclose(shapes.reversible_exact(at), [v for _, v in PRINTED], atol=2e-3)


@pytest.mark.reference(
    "peak 0.4463 at 28.5 mV, half-peak at -28.1 mV, width 56.58 mV",
    "Nicholson & Shain 1964 (exact function)",
    "derived",
)
def test_constants() -> None:
    xi = np.linspace(-3, 2, 5001)
    y = shapes.reversible_exact(xi)
    top = int(np.argmax(y))
    assert y[top] == pytest.approx(shapes.REVERSIBLE_PEAK, abs=1e-9)
    assert xi[top] == pytest.approx(shapes.REVERSIBLE_PEAK_AT, abs=6e-4)
    half = float(np.interp(shapes.REVERSIBLE_PEAK / 2, y[:top], xi[:top]))
    assert half * thermal_voltage() * 1e3 == pytest.approx(-28.09179, abs=2e-3)
    assert xi[top] - half == pytest.approx(shapes.REVERSIBLE_HALF_WIDTH, abs=3e-4)


def test_ends() -> None:
    assert shapes.reversible([200.0])[0] == pytest.approx(1 / math.sqrt(math.pi * 200), rel=1e-9)
    assert shapes.reversible([-30.0])[0] == pytest.approx(math.exp(-30), rel=1e-6)
    assert shapes.wave([0.0])[0] == 0.5
    assert shapes.bound_layer([0.0])[0] == 0.25


@pytest.mark.reference(
    "irreversible peak 0.495763, |E_p - E_p/2| = 47.717/α mV (1.85724 RT/αF)",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact series)",
    "derived",
)
def test_irreversible_function() -> None:
    x = np.linspace(-3, 2, 5001)
    y = shapes.irreversible(x)
    top = int(np.argmax(y))
    assert y[top] == pytest.approx(0.495763, rel=1e-4)
    assert abs(x[top]) < 0.02
    half = float(np.interp(y[top] / 2, y[:top], x[:top]))
    assert -half == pytest.approx(1.85724, abs=1e-3)
    assert -half * thermal_voltage() * 1e3 == pytest.approx(47.717, abs=0.03)
    ends = shapes.irreversible([-25.0, 200.0])
    assert 0 < ends[0] < 1e-9
    assert ends[1] == pytest.approx(1 / math.sqrt(math.pi * 200), rel=0.02)
