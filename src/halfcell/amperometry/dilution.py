"""The concentration in a cell after each addition, with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dilution:
    """Levels before the first and after each addition (k + 1,).

    ``concentration`` and ``u`` in mol/m³, ``volume`` in m³. ``covariance`` (k + 1, k + 1) holds the errors
    the levels share, which come from the same start volume and stock.
    """

    concentration: FloatArray
    u: FloatArray
    volume: FloatArray
    covariance: FloatArray


def dilute(
    start_volume: float,
    volumes: ArrayLike,
    concentrations: ArrayLike,
    *,
    start_concentration: float = 0.0,
    u_start_volume: float = 0.0,
    u_volume_relative: float = 0.0,
    u_stock_relative: float = 0.0,
) -> Dilution:
    """c_k = (n₀ + Σ n_added)/(V₀ + ΣV) for additions of ``volumes`` (k,) m³ at ``concentrations`` (k,) mol/m³.

    ``u_volume_relative`` is the relative standard uncertainty of each pipetted volume (independent),
    ``u_stock_relative`` that of the added solution (shared by all), ``u_start_volume`` in m³.

    Raises MethodError for volumes that are not positive or concentrations below zero.

    Source: mass balance; uncertainty by JCGM 100:2008, clause 5.
    """
    v, c = np.asarray(volumes, dtype=np.float64), np.asarray(concentrations, dtype=np.float64)
    if not (np.isfinite(start_volume) and start_volume > 0):
        raise MethodError(f"The start volume must be positive; it is {start_volume!r} m³.")
    if v.shape != c.shape or np.any(~np.isfinite(v)) or np.any(v <= 0):
        raise MethodError("Each addition needs a positive volume and a concentration.")
    if np.any(~np.isfinite(c)) or np.any(c < 0) or start_concentration < 0:
        raise MethodError("A concentration below zero was given for an addition.")
    amount = np.concatenate([[start_concentration * start_volume], c * v]).cumsum()
    volume = np.concatenate([[start_volume], v]).cumsum()
    level = amount / volume
    k = v.size
    # Partial derivatives of each level to each input: V0, each v_j, and the stock's common factor.
    d_start = (start_concentration - level) / volume
    after = np.arange(k + 1)[:, None] >= np.arange(1, k + 1)[None, :]
    d_volume = np.where(after, (c[None, :] - level[:, None]) / volume[:, None], 0.0)
    d_stock = (amount - amount[0]) / volume
    covariance = (
        np.outer(d_start, d_start) * u_start_volume**2
        + (d_volume * (u_volume_relative * v) ** 2) @ d_volume.T
        + np.outer(d_stock, d_stock) * u_stock_relative**2
    )
    return Dilution(
        concentration=read_only(level),
        u=read_only(np.sqrt(np.maximum(np.diag(covariance), 0))),
        volume=read_only(volume),
        covariance=read_only(covariance),
    )
