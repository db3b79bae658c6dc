"""The diffusion-limited current of a disk of any size after a potential step."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


def disk_factor(theta: ArrayLike) -> FloatArray:
    """Current over the steady one, 4nFDcr, at ``theta`` = Dt/r² (n,): an interpolation good to 0.7 %.

    f = 0.7854 + 0.8862 τ^(−½) + 0.2146 exp(−0.7823 τ^(−½)) with τ = 4θ.
    Source: Shoup and Szabo, J. Electroanal. Chem. 140 (1982) 237.
    """
    root = 1 / np.sqrt(4 * np.asarray(theta, dtype=np.float64))
    return read_only(0.7854 + 0.8862 * root + 0.2146 * np.exp(-0.7823 * root))


def disk_factor_exact(theta: ArrayLike) -> FloatArray:
    """As ``disk_factor`` from the series for short and long times, good to 0.03 %.

    Source: Mahon and Oldham, Anal. Chem. 77 (2005) 6100 (from memory; confirmed by recomputation).
    """
    th = np.asarray(theta, dtype=np.float64)
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        early = (np.pi * th) ** -0.5 + 1 + np.sqrt(th / (4 * np.pi)) - 3 * th / 25 + 3 * th**1.5 / 226
        late = (
            4 / np.pi + 8 / np.sqrt(np.pi**5 * th) + 25 * th**-1.5 / 2792 - th**-2.5 / 3880 - th**-3.5 / 4500
        )
    return read_only(np.where(th <= 1.281, early, late) * np.pi / 4)


def disk_current(
    t: ArrayLike, *, electrons: float, radius: float, concentration: float, diffusion: float
) -> FloatArray:
    """Current in A at ``t`` (n,) s of a disk of ``radius`` m; mol/m³, m²/s."""
    steady = 4 * electrons * FARADAY * diffusion * concentration * radius
    at = np.asarray(t, dtype=np.float64)
    return read_only(steady * disk_factor_exact(diffusion * at / radius**2))


def edge_share(t: float, *, radius: float, diffusion: float) -> float:
    """By how much the disk's edge raises Cottrell's current at time ``t`` (0.05 is 5 %).

    At short times 1 + √(πDt)/r relative to the planar current (derived from the series above).
    """
    theta = diffusion * t / radius**2
    planar = (np.pi * theta) ** -0.5 * np.pi / 4
    return float(disk_factor_exact(theta)) / float(planar) - 1.0
