"""Voltammograms of signals.truth against an integrator that shares nothing with it: the method of lines with scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from halfcell.constants import thermal_voltage
from halfcell.signals.truth import diffusing, programme
from halfcell.voltammetry.peak import measure_peak

F_RT = 1 / thermal_voltage()


def _lines(
    start: float, turn: float, rate: float, k0: float, alpha: float, regeneration: float = 0.0
) -> tuple[np.ndarray, np.ndarray]:
    """Potential and flux/D^1/2 of R -> O + e at D = 1, c = 1, on an expanding grid, by a stiff integrator (rtol 1e-7)."""
    whole = abs(turn - start) / rate
    end = 2 * whole
    m = 110
    x = 2e-3 * (1.07 ** np.arange(m + 1) - 1) / 0.07
    x *= max(1.0, 7 * math.sqrt(end) / x[-1])
    dx = np.diff(x)
    middle = 0.5 * (dx[1:] + dx[:-1])

    def potential(t: float) -> float:
        return start + rate * t if t <= whole else turn - rate * (t - whole)

    def surface(t: float, c1: float) -> tuple[float, float]:
        z = F_RT * potential(t)
        kf, kb = k0 * math.exp(alpha * z), k0 * math.exp(-(1 - alpha) * z)
        # flux = (c1 - c0)/dx0 = kf c0 - kb (1 - c0), equal diffusion: o = 1 - c without regeneration
        c0 = (c1 / dx[0] + kb) / (1 / dx[0] + kf + kb)
        return c0, (c1 - c0) / dx[0]

    def right(t: float, c: np.ndarray) -> np.ndarray:
        c0, _ = surface(t, c[0])
        full = np.concatenate([[c0], c, [1.0]])
        slope = np.diff(full) / dx
        return np.diff(slope) / middle + regeneration * (1 - c)

    out = solve_ivp(
        right,
        (0, end),
        np.ones(m - 1),
        method="LSODA",
        rtol=1e-7,
        atol=1e-9,
        dense_output=True,
        lband=1,
        uband=1,
        max_step=end / 400,
    )
    t = np.linspace(0, end, 801)
    c = out.sol(t)
    flux = np.array([surface(float(tk), float(c[0, k]))[1] for k, tk in enumerate(t)])
    return np.array([potential(float(tk)) for tk in t]), flux


@pytest.mark.reference(
    "current of quasi-reversible, irreversible and catalytic couples by the method of lines",
    "scipy.integrate.solve_ivp (LSODA), an independent discretisation",
    "recomputed",
)
@pytest.mark.parametrize(
    ("k0", "alpha", "regeneration"), [(1.0, 0.5, 0.0), (0.05, 0.4, 0.0), (30.0, 0.5, 0.0), (30.0, 0.5, 2.0)]
)
def test_against_the_method_of_lines(k0: float, alpha: float, regeneration: float) -> None:
    e, flux = _lines(-0.4, 0.5, 0.1, k0, alpha, regeneration)
    p = programme((-0.4, 0.5, -0.4), 0.1, step=1e-3)
    i = diffusing(
        p.time, p.potential, formal=0.0, amount=1.0, rate_constant=k0, alpha=alpha, scale=regeneration
    )
    n = 401
    ours = np.interp(e[:n], p.potential[:901], i[:901])
    assert np.abs(ours - flux[:n]).max() < 0.006 * np.abs(flux).max()
    found = measure_peak(p.potential[:901], i[:901], subtracted=True) if not regeneration else None
    if found is not None:
        assert found.current.value == pytest.approx(float(flux[:n].max()), abs=3 * found.current.u)
        assert found.potential.value == pytest.approx(float(e[np.argmax(flux[:n])]), abs=3e-3)
