"""Potential steps: when they happened, the sampled current of each, and what the decay is made of."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.amperometry.anson import Anson, fit_anson
from halfcell.amperometry.cottrell import Cottrell, fit_cottrell
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only
from halfcell.signals.time_order import must_not_fall
from halfcell.statistics.autocorrelation import lag_one
from halfcell.statistics.linear import fit_linear

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledSteps:
    """The steps of one record to one potential.

    ``current`` A: the mean over the steps of the mean current in the window ``window`` (s after the
    step); ``each`` (k,) A the single steps with standard uncertainties ``u_each``; ``time_constant`` s of
    the charging current and ``charging_share``, what is left of it in the window relative to the
    sampled current. ``cottrell`` and ``anson`` are of the first step.
    """

    current: Measured
    each: FloatArray
    u_each: FloatArray
    starts: FloatArray
    duration: float
    window: tuple[float, float]
    time_constant: float
    charging_share: float
    cottrell: Cottrell | None
    anson: Anson | None
    shown_time: FloatArray
    shown_current: FloatArray
    potential: float


def sample_steps(
    time: ArrayLike,
    current: ArrayLike,
    potential: ArrayLike | None = None,
    *,
    to: float | None = None,
    sample_from: float | None = None,
    sample_to: float | None = None,
) -> SampledSteps:
    """The sampled current of the potential steps in ``current`` (n,) A at ``time`` (n,) s.

    ``potential`` (n,) V, where the file has it, says when the steps to ``to`` V happen (without ``to``: those
    furthest from the first potential); without it the record is one step at the largest change of
    the current in its first fifth. The window runs from ``sample_from`` to ``sample_to`` s after the step;
    by default it is the last half of the step, the same for all records of one length, which
    the charging current must have left (ten time constants).

    Raises MethodError where there is no step, for time that falls back, or a window of fewer than 8 samples.

    Source: sampled-current voltammetry, Bard and Faulkner, Electrochemical Methods (from memory); the
    default window is common practice, no source.
    """
    t, i = np.asarray(time, dtype=np.float64), np.asarray(current, dtype=np.float64)
    if t.size < 40 or t.shape != i.shape:
        raise MethodError(f"A potential step needs at least 40 samples; there are {t.size}.")
    must_not_fall(t)
    spans, level = _spans(t, i, None if potential is None else np.asarray(potential, dtype=np.float64), to)
    duration = min(float(t[b - 1] - t[a]) for a, b in spans)
    spacing = float(np.median(np.diff(t)))
    window = (
        0.5 * duration if sample_from is None else sample_from,
        duration if sample_to is None else sample_to,
    )
    means = [_windowed(t[a:b] - t[a], i[a:b], window) for a, b in spans]
    each, u_each = np.array([m.value for m in means]), np.array([m.u for m in means])
    if len(means) == 1:
        total = means[0]
    else:
        scatter = float(each.std(ddof=1)) / math.sqrt(each.size)
        inner = math.sqrt(float(np.sum(u_each**2))) / each.size
        total = Measured(
            value=float(each.mean()),
            u=max(scatter, inner),
            df=each.size - 1 if scatter >= inner else means[0].df,
        )
    a, b = spans[0]
    since = (
        t[a:b] - t[a] + 0.5 * spacing
    )  # on average the step lies half a sample before the first that shows it
    tau, amplitude = _charging(since, i[a:b])
    left = abs(amplitude) * math.exp(-window[0] / tau) if tau > 0 else 0.0
    thin = max(1, (b - a) // 1200)
    return SampledSteps(
        current=total,
        each=read_only(each),
        u_each=read_only(u_each),
        starts=read_only([t[a] for a, _ in spans]),
        duration=duration,
        window=(float(window[0]), float(window[1])),
        time_constant=tau,
        charging_share=left / abs(total.value) if total.value else math.inf,
        cottrell=_try_cottrell(since, i[a:b], tau),
        anson=_try_anson(since, i[a:b], tau),
        shown_time=read_only(since[::thin]),
        shown_current=read_only(i[a:b][::thin]),
        potential=level,
    )


def _spans(
    t: FloatArray, i: FloatArray, e: FloatArray | None, to: float | None
) -> tuple[list[tuple[int, int]], float]:
    if e is None or float(np.ptp(e)) < 5e-3:
        early = max(5, t.size // 5)
        start = int(np.argmax(np.abs(np.diff(i[:early])))) + 1
        noise = 1.4826 * float(np.median(np.abs(np.diff(i))))
        end = float(np.median(i[-max(5, t.size // 20) :]))
        rises = abs(i[start] - end) > abs(i[start - 1] - end)
        if not rises or abs(i[start] - i[start - 1]) < 20 * noise:
            start = 0
        level = float(np.median(e)) if e is not None else (math.nan if to is None else to)
        return [(start, t.size)], level
    edges = [0, *(np.flatnonzero(np.abs(np.diff(e)) > 3e-3) + 1).tolist(), t.size]
    held = [(a, b) for a, b in itertools.pairwise(edges) if b - a >= 20]
    if not held:
        raise MethodError(
            "The potential is nowhere held for 20 samples: this is no record of potential steps."
        )
    levels = [float(np.median(e[a:b])) for a, b in held]
    if to is None:
        to = max(levels, key=lambda v: abs(v - levels[0]))
    chosen = [span for span, v in zip(held, levels, strict=True) if abs(v - to) <= 10e-3]
    if not chosen:
        raise MethodError(
            f"No step goes to {to:g} V; the potentials held are {', '.join(f'{v:.3f}' for v in sorted(set(np.round(levels, 3))))} V."
        )
    longest = max(b - a for a, b in chosen)
    return [(a, b) for a, b in chosen if b - a >= 0.9 * longest], to


def _windowed(since: FloatArray, i: FloatArray, window: tuple[float, float]) -> Measured:
    """Mean in the window; its uncertainty from the scatter about a smooth decay, memory allowed for."""
    chosen = (since >= window[0]) & (since <= window[1])
    n = int(chosen.sum())
    if n < 8:
        raise MethodError(
            f"The sampling window {window[0]:g}–{window[1]:g} s holds {n} samples; at least 8 are needed."
        )
    t, y = since[chosen], i[chosen]
    x = (t - t.mean()) / max(float(np.ptp(t)), 1e-300)
    fit = fit_linear(np.column_stack([np.ones(n), x, x * x]), y)
    rho = lag_one(fit.residuals)
    n_eff = max(n * (1 - rho) / (1 + rho), 2.0)
    return Measured(value=float(y.mean()), u=fit.residual_sd / math.sqrt(n_eff), df=max(n_eff - 3, 1.0))


def _charging(t: FloatArray, i: FloatArray) -> tuple[float, float]:
    """Time constant and amplitude of an exponential beside 1/√t and a constant: (0, 0) when there is none."""
    late = t[-1] / 2
    grid = np.geomspace(max(float(t[1] - t[0]) * 0.7, late * 1e-4), late / 5, 24)
    base = np.column_stack([np.ones(t.size), 1 / np.sqrt(t)])
    without = fit_linear(base, i)
    best, found = without.rss, (0.0, 0.0)
    for tau in grid:
        try:
            fit = fit_linear(np.column_stack([base, np.exp(-t / tau)]), i)
        except MethodError:
            continue
        if fit.rss < best:
            best, found = fit.rss, (float(tau), float(fit.coefficients[2]))
    significant = t.size * math.log(max(without.rss, 1e-300) / max(best, 1e-300)) > 2 * math.log(t.size) + 6
    return found if significant else (0.0, 0.0)


def _try_cottrell(t: FloatArray, i: FloatArray, tau: float) -> Cottrell | None:
    chosen = t > 8 * tau
    try:
        return fit_cottrell(t[chosen], i[chosen])
    except MethodError:
        return None


def _try_anson(t: FloatArray, i: FloatArray, tau: float) -> Anson | None:
    try:
        return fit_anson(t, i, start=8 * tau, steady=True)
    except MethodError:
        return None
