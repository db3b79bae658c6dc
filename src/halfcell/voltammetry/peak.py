"""A peak and its features over a local baseline, the choice of baseline counted as an uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only, unknown
from halfcell.signals.baselines import Baseline
from halfcell.signals.noise import Noise, record_noise
from halfcell.voltammetry.peak_baselines import plausible
from halfcell.voltammetry.peak_top import Top, crossing, top_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

BaselineKind = Literal["auto", "line", "tangent", "polynomial", "smooth"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Peak:
    """A peak's features, in SI units. ``current`` is signed (oxidation positive).

    ``height`` |i_p| over the baseline, ``half_potential`` E_p/2, ``onset`` where the tangent at half
    height meets the baseline, ``width`` full width at half height, ``charge`` under the peak
    (C; needs the scan rate), ``asymmetry`` (E_p - E_half before)/(E_half after - E_p),
    ``signal_to_noise`` height over the standard deviation of the noise of one sample.
    ``u_noise``, ``u_baseline`` and ``u_choice`` (A) are the parts of the height's uncertainty: the
    top's fit, the baseline's fit, the choice among ``choices`` (name, height in A).
    """

    potential: Measured
    current: Measured
    height: Measured
    half_potential: Measured
    onset: Measured
    width: Measured
    charge: Measured
    asymmetry: Measured
    signal_to_noise: Measured
    u_noise: float
    u_baseline: float
    u_choice: float
    choices: tuple[tuple[str, float], ...]
    baseline: Baseline
    axis: FloatArray
    data: FloatArray
    sign: int
    noise: Noise

    def plot(self, ax: Any) -> None:
        """The curve, its baseline, the height and the half height."""
        ax.plot(self.axis, self.data, color="0.4", lw=1)
        self.baseline.plot(ax, self.axis)
        base = float(np.interp(self.potential.value, *_rising(self.axis, self.baseline.values)))
        ax.plot([self.potential.value] * 2, [base, base + self.current.value], color="k", lw=1.2)
        ax.set_xlabel("E / V")
        ax.set_ylabel("I / A")


def measure_peak(
    potential: ArrayLike,
    current: ArrayLike,
    *,
    sign: int = 1,
    rate: float = math.nan,
    near: tuple[float, float] | None = None,
    window: tuple[float, float] | None = None,
    baseline: BaselineKind = "auto",
    baseline_windows: Sequence[tuple[float, float]] | None = None,
    subtracted: bool = False,
    returns: bool | None = None,
) -> Peak:
    """The features of the largest peak of one branch.

    Parameters
    ----------
    potential, current : (n,) arrays in scan order, V and A
    sign : int
        +1 for an oxidation peak, -1 for a reduction peak.
    rate : float
        Scan rate, V/s, for the charge.
    near : pair of V, optional
        Peak and half-peak potential from an earlier look (``classify_response``); else the most
        prominent maximum is taken.
    window : pair of V, optional
        The maximum is looked for between these potentials.
    baseline : str
        "auto": through the foot of the peak, and through the far side as well when the current
        comes back to it; the others as named.
    baseline_windows : pairs of V, optional
        A person's windows; they replace the automatic ones, and the choices varied are the
        order 0 or 1 and the windows shortened by a quarter at either end.
    subtracted : bool
        Whether a blank was taken off (a constant is then a plausible baseline).
    returns : bool, optional
        Whether the current comes back to the foot's level after the peak; None: found.

    Raises
    ------
    MethodError
        Fewer than 30 samples; no maximum inside the window; a height below twice the noise.

    Notes
    -----
    The top is a cubic (quartic from 40 samples) within 0.45 half-widths of the maximum; covariances are inflated for
    AR(1) noise. The uncertainty of the height adds in quadrature the top's, the baseline's
    and the root-mean-square change over the plausible baselines (JCGM 100:2008, 4.3 and 5.1).
    """
    e, y = np.asarray(potential, float), sign * np.asarray(current, float)
    good = np.isfinite(e) & np.isfinite(y)
    e, y = e[good], y[good]
    if e.size < 30:
        raise MethodError(f"A peak needs a branch of at least 30 samples; there are {e.size}.")
    noise = record_noise(y)
    at, half = near if near is not None else _prominent(e, y, window)
    choices = plausible(
        e,
        y,
        at,
        half,
        kind=baseline,
        windows=baseline_windows,
        subtracted=subtracted,
        rho=noise.rho,
        returns=returns,
    )
    bound = window or (at - 2.5 * abs(at - half), at + 2.5 * abs(at - half))
    tops = [
        (name, base, top_of(e, y - base.values, at, abs(at - half), bound, noise)) for name, base in choices
    ]
    name, base, top = tops[0]
    if not top.height > 2 * noise.of_mean(top.samples):
        raise MethodError(
            f"The maximum near {at:.3f} V is {top.height:.3g} A over the {name} baseline; the noise at the top is {noise.of_mean(top.samples):.2g} A."
        )
    return _features(e, y, sign, rate, noise, tops, top, base)


def _features(
    e: NDArray[np.float64],
    y: NDArray[np.float64],
    sign: int,
    rate: float,
    noise: Noise,
    tops: list[tuple[str, Baseline, Top]],
    top: Top,
    base: Baseline,
) -> Peak:
    up = y - base.values
    u_base = float(np.interp(top.at, *_rising(e, base.u)))
    others = np.array([t.height for _, _, t in tops[1:]]) if len(tops) > 1 else np.array([top.height])
    u_choice = float(np.sqrt(np.mean((others - top.height) ** 2)))
    u_height = math.sqrt(top.u_height**2 + u_base**2 + u_choice**2)
    height = Measured(value=top.height, u=u_height)
    moved = np.array([t.at for _, _, t in tops])
    at = Measured(
        value=top.at, u=math.sqrt(top.u_at**2 + float(np.mean((moved - top.at) ** 2)) + top.step**2 / 12)
    )
    before = crossing(e, up, top, 0.5, -1, noise)
    after = crossing(e, up, top, 0.5, +1, noise)
    slope_u = u_height / 2
    half = (
        before.measured(slope_u) if before else unknown("the current does not fall to half before the peak")
    )
    right = after.measured(slope_u) if after else unknown("the current does not fall to half after the peak")
    width, asymmetry, onset = _sides(at, half, right, before, top)
    return Peak(
        potential=at,
        current=height.times(sign),
        height=height,
        half_potential=half,
        onset=onset,
        width=width,
        charge=_charge(e, up, rate, noise, tops, top, half).times(sign),
        asymmetry=asymmetry,
        signal_to_noise=height.times(1 / noise.sigma)
        if noise.sigma > 0
        else unknown("the record has no noise"),
        u_noise=top.u_height,
        u_baseline=u_base,
        u_choice=u_choice,
        choices=tuple((n, t.height) for n, _, t in tops),
        baseline=Baseline(
            kind=base.kind,
            values=read_only(sign * base.values),
            u=base.u,
            windows=base.windows,
            misfit=base.misfit,
            note=base.note,
        ),
        axis=read_only(e),
        data=read_only(sign * y),
        sign=sign,
        noise=noise,
    )


def _sides(
    at: Measured, half: Measured, right: Measured, before: Any, top: Top
) -> tuple[Measured, Measured, Measured]:
    if not math.isfinite(half.value):
        return unknown(half.why), unknown(half.why), unknown(half.why)
    slope = before.slope
    onset = Measured(
        value=half.value - before.forwards * 0.5 * top.height / slope,
        u=math.hypot(half.u, 0.5 * top.height * before.u_slope / slope**2),
    )
    if not math.isfinite(right.value):
        return unknown(right.why), unknown(right.why), onset
    width = Measured(value=abs(right.value - half.value), u=math.hypot(half.u, right.u))
    rise, fall = abs(at.value - half.value), abs(right.value - at.value)
    ratio = rise / fall if fall > 0 else math.nan
    relative = (
        math.sqrt((at.u**2 + half.u**2) / rise**2 + (at.u**2 + right.u**2) / fall**2)
        if rise > 0 and fall > 0
        else math.nan
    )
    return width, Measured(value=ratio, u=ratio * relative), onset


def _charge(
    e: NDArray[np.float64],
    up: NDArray[np.float64],
    rate: float,
    noise: Noise,
    tops: list[tuple[str, Baseline, Top]],
    top: Top,
    half: Measured,
) -> Measured:
    if not math.isfinite(rate) or rate <= 0:
        return unknown("the scan rate is not known")
    if not math.isfinite(half.value):
        return unknown(half.why)
    reach = 4 * abs(top.at - half.value)
    mask = np.abs(e - top.at) <= reach
    if mask.sum() < 5:
        return unknown("too few samples under the peak")
    x = np.abs(e[mask] - e[mask][0])
    area = float(np.trapezoid(up[mask], x))
    nominal = tops[0][1].values
    changed = [float(np.trapezoid((nominal - b.values)[mask], x)) for _, b, _ in tops[1:]] or [0.0]
    step = float(x[-1]) / max(x.size - 1, 1)
    u_noise = noise.sigma * step * math.sqrt(x.size * (1 + noise.rho) / (1 - noise.rho))
    u_base = float(np.mean(tops[0][1].u[mask])) * float(x[-1])
    spread = float(np.sqrt(np.mean(np.square(changed))))
    why = f"between {e[mask][0]:.3f} and {e[mask][-1]:.3f} V"
    return Measured(value=area / rate, u=math.sqrt(u_noise**2 + u_base**2 + spread**2) / rate, why=why)


def _prominent(
    e: NDArray[np.float64], y: NDArray[np.float64], window: tuple[float, float] | None
) -> tuple[float, float]:
    """Potential of the most prominent maximum of the smoothed curve, and of half its prominence before it."""
    from scipy.signal import find_peaks, savgol_filter

    m = min(max(e.size // 40, 5), 201) | 1
    smooth = savgol_filter(y, m, 2, mode="interp")
    places, about = find_peaks(smooth, prominence=0)
    keep = np.ones(places.size, bool)
    if window is not None:
        keep = (e[places] >= min(window)) & (e[places] <= max(window))
    if not keep.any():
        where = f"between {min(window):.3f} and {max(window):.3f} V" if window else "on the branch"
        raise MethodError(f"There is no maximum of the current {where}.")
    best = int(np.argmax(np.where(keep, about["prominences"], -1.0)))
    top = int(places[best])
    level = smooth[top] - 0.5 * about["prominences"][best]
    below = np.flatnonzero(smooth[:top] < level)
    start = int(below[-1]) if below.size else 0
    return float(e[top]), float(e[start]) if start != top else float(e[max(top - m, 0)])


def _rising(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    return (x, y) if x[-1] >= x[0] else (x[::-1], y[::-1])
