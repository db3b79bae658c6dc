"""Peak current and diffusion: Randles–Ševčík, solved for area, diffusion coefficient or concentration."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfcell.constants import FARADAY, STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.voltammetry.shapes import IRREVERSIBLE_PEAK, REVERSIBLE_PEAK

Transfer = Literal["reversible", "irreversible", "quasi-reversible"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The quantity that was asked for, in SI units, and the current function used."""

    wanted: str
    value: Measured
    transfer: Transfer
    function: float


def peak_current(
    *,
    electrons: float,
    area: float,
    concentration: float,
    diffusion: float,
    rate: float,
    transfer: Transfer = "reversible",
    alpha_n: float = 0.5,
    rate_constant: float = math.inf,
    temperature: float = STANDARD_TEMPERATURE,
) -> float:
    """Peak current in A (area m², concentration mol/m³, D m²/s, rate V/s).

    reversible: 0.4463 nFAc (nvD F/RT)^1/2; irreversible: 0.4958 nFAc (alpha_n vD F/RT)^1/2; quasi-reversible:
    the reversible one times K(lambda, alpha), lambda = k0/(D n v F/RT)^1/2, with alpha = alpha_n/n
    (Matsuda & Ayabe, Z. Elektrochem. 1955, 59, 494, from memory; K computed here). Source: Nicholson & Shain,
    Anal. Chem. 1964, 36, 706.
    """
    function = current_function(
        transfer,
        electrons=electrons,
        alpha_n=alpha_n,
        rate_constant=rate_constant,
        diffusion=diffusion,
        rate=rate,
        temperature=temperature,
    )
    return (
        function
        * electrons
        * FARADAY
        * area
        * concentration
        * math.sqrt(electrons * rate * diffusion / thermal_voltage(temperature))
    )


def current_function(
    transfer: Transfer,
    *,
    electrons: float,
    alpha_n: float = 0.5,
    rate_constant: float = math.inf,
    diffusion: float = 1e-9,
    rate: float = 0.1,
    temperature: float = STANDARD_TEMPERATURE,
) -> float:
    """The factor before nFAc (nvDF/RT)^1/2: 0.4463, 0.4958 (alpha_n/n)^1/2, or 0.4463 K.

    ``rate_constant`` m/s, ``diffusion`` m²/s, ``rate`` V/s, ``temperature`` K. Raises MethodError for an alpha_n
    outside 0 to 2n, or a rate constant that is not above zero. Source: Nicholson & Shain 1964; K computed here.
    """
    if transfer == "reversible":
        return REVERSIBLE_PEAK
    if not 0 < alpha_n <= 2 * electrons:
        raise MethodError(f"alpha_n must lie between 0 and {2 * electrons}; it is {alpha_n}.")
    if transfer == "irreversible":
        return IRREVERSIBLE_PEAK * math.sqrt(alpha_n / electrons)
    if not rate_constant > 0:
        raise MethodError(
            f"The quasi-reversible case needs a standard rate constant above zero; it is {rate_constant}."
        )
    speed = rate_constant / math.sqrt(diffusion * electrons * rate / thermal_voltage(temperature))
    return REVERSIBLE_PEAK * quasi_reversible_factor(speed, alpha_n / electrons)


def solve(
    wanted: Literal["area", "diffusion", "concentration"],
    slope: Measured,
    *,
    electrons: float,
    area: float | None = None,
    concentration: float | None = None,
    diffusion: float | None = None,
    transfer: Literal["reversible", "irreversible"] = "reversible",
    alpha_n: Measured | None = None,
    temperature: float = STANDARD_TEMPERATURE,
) -> Solved:
    """Area (m²), D (m²/s) or concentration (mol/m³) from ``slope`` = d i_p/d v^1/2 in A (s/V)^1/2.

    The other two must be given. The uncertainty has the slope's and alpha_n's. For a quasi-reversible
    transfer the slope is no constant: use ``peak_current`` with its rate constant.
    Raises MethodError when something is missing or the slope is not above zero. Source: Nicholson & Shain 1964.
    """
    if not slope.value > 0:
        raise MethodError(
            f"The slope of the peak current against the root of the scan rate must be above zero; it is {slope.value:.3g}."
        )
    given = {"area": area, "diffusion": diffusion, "concentration": concentration}
    missing = [
        name for name, value in given.items() if name != wanted and not (value is not None and value > 0)
    ]
    if missing:
        raise MethodError(
            f"To solve for the {wanted} the {' and the '.join(missing)} must be given, above zero."
        )
    alpha = None if alpha_n is None else alpha_n.value
    function = current_function(transfer, electrons=electrons, alpha_n=0.5 if alpha is None else alpha)
    root = math.sqrt(electrons / thermal_voltage(temperature))
    base = function * electrons * FARADAY * root
    relative = slope.u / slope.value
    if transfer == "irreversible" and alpha_n is not None and math.isfinite(alpha_n.u):
        relative = math.hypot(relative, 0.5 * alpha_n.u / alpha_n.value)
    if wanted == "diffusion":
        assert area is not None
        assert concentration is not None
        value = (slope.value / (base * area * concentration)) ** 2
        relative *= 2
    elif wanted == "area":
        assert diffusion is not None
        assert concentration is not None
        value = slope.value / (base * concentration * math.sqrt(diffusion))
    else:
        assert diffusion is not None
        assert area is not None
        value = slope.value / (base * area * math.sqrt(diffusion))
    return Solved(
        wanted=wanted,
        value=Measured(value=value, u=value * relative, df=slope.df),
        transfer=transfer,
        function=function,
    )


def quasi_reversible_factor(speed: float, alpha: float = 0.5) -> float:
    """K(lambda, alpha): peak current over the reversible one; 1 for fast, 1.1108 alpha^1/2 for slow transfer."""
    if speed > 60:  # 1 - K falls as 1/Λ
        return float(1 - (1 - _factors(round(alpha, 3))[1][-1]) * 60 / speed)
    if speed < 2e-4:
        return IRREVERSIBLE_PEAK * math.sqrt(alpha) / REVERSIBLE_PEAK
    logs, factors = _factors(round(alpha, 3))
    return float(np.interp(math.log(speed), logs, factors))


@functools.lru_cache(maxsize=16)
def _factors(alpha: float) -> tuple[np.ndarray, np.ndarray]:
    """K on a grid of ln(lambda), from the integral equation of signals.truth (steps of 0.6 mV)."""
    from halfcell.signals.truth import diffusing

    f = 1 / thermal_voltage()
    speeds = np.exp(np.linspace(math.log(2e-4), math.log(60), 25))
    factors = []
    for speed in speeds:
        late = max(-math.log(speed), 0.0) / alpha + 8
        xi = np.arange(-10 / min(alpha, 1), late, 0.04)
        t = xi / f  # 1 V/s
        i = diffusing(t, t, formal=0.0, amount=1.0, rate_constant=speed * math.sqrt(f), alpha=alpha)
        factors.append(float(i.max()) / (REVERSIBLE_PEAK * math.sqrt(f)))
    return np.log(speeds), np.array(factors)
