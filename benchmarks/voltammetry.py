"""200 voltammograms of 5,000 points against their blanks, analysed in full on one core.

Both answer the same questions of each record: where the sweeps turn, what is left without the
blank, whether that is nothing, a wave or a peak, and the peak's position, height, half-peak potential,
width and charge with the spread over several baselines. The reference is the straight-line
script a practitioner would write with scipy: curve_fit of the three models from a few starts, weighed
by BIC for white noise, and polynomial baselines.
"""

from __future__ import annotations

import time
from collections import defaultdict
from typing import Any

import numpy as np

from benchmarks import Result

RECORDS, POINTS = 200, 5000
_TRIAL = 8
_SEED = 11
_KT = 0.025692579


def invented(count: int, points: int = POINTS) -> list[dict[str, Any]]:
    """Cyclic voltammograms in analyte and their blanks: time s, potential V, currents A."""
    from halfcell.signals.truth import charging, diffusing, programme, spoiled

    rng = np.random.default_rng(_SEED)
    p = programme((-0.3, 0.7, -0.3), 0.05, step=2.0 / (points - 1))
    base = charging(p.time, p.potential, capacitance=2e-6, resistance=150.0, leak=1e-8)
    coarse = programme((-0.3, 0.7, -0.3), 0.05, step=2e-3)
    made = []
    for k in range(count):
        thin = diffusing(
            coarse.time,
            coarse.potential,
            formal=rng.uniform(0.1, 0.35),
            amount=2e-6,
            rate_constant=rng.choice([np.inf, 1.0, 0.1]),
        )
        clean = np.interp(p.time, coarse.time, thin)
        if k % 10 == 9:
            clean = clean * 0
        made.append(
            {
                "time": p.time,
                "potential": p.potential,
                "current": spoiled(
                    base + clean, noise=5e-9, rho=0.4, drift=3e-8 * rng.standard_normal(), rng=rng
                ),
                "blank": spoiled(base * (1 + 0.02 * rng.standard_normal()), noise=5e-9, rho=0.4, rng=rng),
            }
        )
    return made


def ours(record: dict[str, Any], taken: dict[str, float]) -> int:
    """halfcell's analysis of one record; the number of peaks measured."""
    from halfcell.errors import MethodError
    from halfcell.signals.branch import branch_of
    from halfcell.signals.segments import find_segments
    from halfcell.voltammetry.background import subtract_blank
    from halfcell.voltammetry.peak import measure_peak
    from halfcell.voltammetry.response import classify_response
    from halfcell.voltammetry.scan_rate_check import check_scan_rate

    tick = time.perf_counter()

    def stage(name: str) -> None:
        nonlocal tick
        now = time.perf_counter()
        taken[name] += now - tick
        tick = now

    e, i, b = record["potential"], record["current"], record["blank"]
    found = find_segments(e, record["time"])
    rate = check_scan_rate(found.scan_rate, 0.05).used
    stage("sweeps and scan rate")
    peaks = 0
    for segment in found.segments:
        sample, blank = (branch_of(e[segment.slice], y[segment.slice]) for y in (i, b))
        left = subtract_blank(sample, blank, rates=(rate, rate))
        stage("blank taken off")
        response = classify_response(
            left.potential, left.difference, sign=segment.direction, blank=left.blank
        )
        stage("response class")
        if response.word == "peak":
            try:
                measure_peak(
                    left.potential, left.difference, sign=segment.direction, rate=rate, near=(response.at, response.half),
                    subtracted=True, returns=response.definition.value > 0.85,
                )  # fmt: skip
                peaks += 1
            except MethodError:
                pass
            stage("peak over 5 baselines")
    return peaks


def plain(record: dict[str, Any]) -> int:
    """The straight-line script for one record; the number of peaks measured."""
    from scipy.signal import savgol_filter

    e, i, b = record["potential"], record["current"], record["blank"]
    turn = int(np.argmax(e))
    peaks = 0
    for sign, part in ((1, slice(0, turn)), (-1, slice(turn, e.size))):
        x, y = e[part], sign * i[part]
        order = np.argsort(x)
        y = y - sign * np.interp(x, x[order], b[part][order])
        if _plain_class(x * sign, y * 1e6) != "peak":
            continue
        smooth = savgol_filter(y, 51, 3)
        top = int(np.argmax(smooth))
        heights = []
        for first, last in ((0.02, 0.5), (0.1, 0.5), (0.02, 0.4), (0.02, 0.6), (0.2, 0.5)):
            a, z = int(first * top), max(int(last * top), 30)
            line = np.polyval(np.polyfit(x[a:z], y[a:z], 1), x)
            near = slice(max(top - 60, 0), top + 60)
            fit = np.polyfit(x[near] - x[top], (y - line)[near], 3)
            heights.append(np.polyval(fit, 0.0))
        up = smooth - line
        np.trapezoid(up[: top + 400], np.abs(x[: top + 400] - x[0]))
        np.flatnonzero(up > 0.5 * heights[0])
        peaks += 1
    return peaks


def _plain_class(x: np.ndarray, y: np.ndarray) -> str:
    from scipy.optimize import curve_fit

    def wave(x: np.ndarray, a: float, s: float, h: float, m: float, w: float) -> np.ndarray:
        return a + s * x + h / (1 + np.exp(-np.clip((x - m) / (w * _KT), -50, 50)))

    def peak(x: np.ndarray, a: float, s: float, h: float, m: float, w: float, t: float) -> np.ndarray:
        z = np.clip((x - m) / (w * _KT), -50, 50)
        return (
            a
            + s * x
            + 4 * h * (1 - t) * np.exp(-np.abs(z)) / (1 + np.exp(-np.abs(z))) ** 2
            + h * t / (1 + np.exp(-z))
        )

    n = y.size
    line = y - np.polyval(np.polyfit(x, y, 1), x)
    scores = {"none": n * np.log(np.mean(line**2)) + 2 * np.log(n)}
    for name, model, extra in (("wave", wave, ()), ("peak", peak, (0.4,))):
        best = np.inf
        for m in np.quantile(x, [0.35, 0.5, 0.65]):
            start = (float(y[0]), 0.0, float(np.ptp(y)), float(m), 1.5, *extra)
            try:
                p, _ = curve_fit(model, x, y, start, maxfev=400)
            except RuntimeError:
                continue
            best = min(best, float(np.mean((y - model(x, *p)) ** 2)))
        scores[name] = n * np.log(best) + (5 + len(extra)) * np.log(n)
    return min(scores, key=lambda k: scores[k])


def run(records: int = RECORDS, trial: int = _TRIAL) -> Result:
    """All records by halfcell; the reference on the first few, its time scaled to all."""
    made = invented(records)
    ours(made[0], defaultdict(float))
    plain(made[0])
    taken: dict[str, float] = defaultdict(float)
    start = time.perf_counter()
    peaks = sum(ours(record, taken) for record in made)
    whole = time.perf_counter() - start
    start = time.perf_counter()
    for record in made[:trial]:
        plain(record)
    reference = (time.perf_counter() - start) * records / trial
    rows = tuple((name, f"{t:.2f} s", f"{t / records * 1e3:.1f} ms a record") for name, t in taken.items())
    return Result(
        name="voltammetry",
        halfcell=whole,
        reference=reference,
        head=("stage", "all records", "each"),
        rows=rows,
        notes=(
            f"{records} records of {POINTS} points, {peaks} peaks measured: {records / whole * 60:.0f} records a minute on one core.",
            f"The reference was timed on {trial} records.",
        ),
    )
