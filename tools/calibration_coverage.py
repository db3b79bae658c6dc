"""Coverage of every interval of a calibration, and error rates of the limits, by simulation with known truth.

    python tools/calibration_coverage.py [--sets 10000] [--rates 40000] [--seed 1]

Writes docs/coverage.md. Each row calls the public function that the analysis calls, on data simulated with
designs usual in the trade (5–8 levels, three electrodes). The seed stands in the page.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from scipy import special

from halfcell.calibration.across import across_electrodes
from halfcell.calibration.confounding import confounding
from halfcell.calibration.limits import limits
from halfcell.calibration.linearity import linear_range
from halfcell.calibration.saturation import fit_saturation
from halfcell.calibration.standard_addition import standard_addition
from halfcell.calibration.unknowns import read_content
from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.autocorrelation import steady_mean
from halfcell.statistics.errors_in_x import fit_unsure_line
from halfcell.statistics.line import Line, fit_line
from halfcell.statistics.linear import fit_linear
from halfcell.statistics.mixed import random_slopes
from halfcell.statistics.noncentral import noncentrality
from halfcell.statistics.ratios import ratio
from halfcell.statistics.variance_components import nested, one_way

X = np.linspace(0, 1, 7)
SIGMA = 0.03
Truths = Iterator[tuple[Interval, float]]


def lines(
    rng: np.random.Generator,
    sets: int,
    sigma: float = SIGMA,
    x: np.ndarray = X,
    slope: float | np.ndarray = 1.0,
) -> Iterator[Line]:
    """Lines fitted to many sets at once by the closed form; the first is compared with ``fit_line``."""
    y = (
        0.1
        + np.broadcast_to(np.asarray(slope, dtype=float), (sets,))[:, None] * x
        + sigma * rng.normal(size=(sets, x.size))
    )
    n, mean, ones = x.size, float(x.mean()), np.ones(x.size)
    dx = x - mean
    sxx = float(dx @ dx)
    b = y @ dx / sxx
    a = y.mean(axis=1) - b * mean
    rest = y - a[:, None] - b[:, None] * x
    rss = np.sum(rest**2, axis=1)
    s = np.sqrt(rss / (n - 2))
    known = fit_line(x, y[0])
    assert math.isclose(known.slope.value, b[0], rel_tol=1e-9)
    assert math.isclose(known.slope.u, s[0] / math.sqrt(sxx), rel_tol=1e-9)
    root = math.sqrt(1 / n + mean**2 / sxx)
    for k in range(sets):
        yield Line(
            slope=Measured(value=float(b[k]), u=float(s[k]) / math.sqrt(sxx), df=n - 2),
            intercept=Measured(value=float(a[k]), u=float(s[k]) * root, df=n - 2),
            covariance=-mean * float(s[k]) ** 2 / sxx, residual_sd=float(s[k]), df=n - 2, n=n, r2=math.nan, f=math.nan,
            x=x, y=y[k], weights=ones, residuals=rest[k], standardised=rest[k], x_mean=mean, sxx=sxx, rss=float(rss[k]),
        )  # fmt: skip


def slope(rng, sets) -> Truths:
    return ((line.slope.interval(), 1.0) for line in lines(rng, sets))


def intercept(rng, sets) -> Truths:
    return ((line.intercept.interval(), 0.1) for line in lines(rng, sets))


def content(rng, sets, sigma=SIGMA) -> Truths:
    for line in lines(rng, sets, sigma):
        yield read_content(line, list(0.1 + 0.4 + sigma * rng.normal(size=2))).interval, 0.4


def content_poor(rng, sets) -> Truths:
    return content(rng, sets, 0.2)


def content_simple(rng, sets) -> Truths:
    for line in lines(rng, sets, 0.2):
        try:
            yield read_content(line, list(0.1 + 0.4 + 0.2 * rng.normal(size=2))).content.interval(), 0.4
        except MethodError:
            continue


def addition(rng, sets) -> Truths:
    x = np.array([0, 0, 0.5, 0.5, 1.0, 1.0, 1.5, 1.5])
    for _ in range(sets):
        yield standard_addition(x, 0.3 + x + 0.05 * rng.normal(size=8)).interval, 0.3


def weighted(rng, sets, weights="1/x") -> Truths:
    x = np.array([0.1, 0.2, 0.5, 1, 2, 5, 10])
    w = {"1/x": 1 / x, "none": np.ones(7)}[weights]
    for _ in range(sets):
        yield (
            fit_line(
                x, x + 0.05 * np.sqrt(x) * rng.normal(size=7), weights=w / w.mean()
            ).intercept.interval(),
            0.0,
        )


def unweighted(rng, sets) -> Truths:
    return weighted(rng, sets, "none")


def after_range(rng, sets) -> Truths:
    for _ in range(sets):
        y = 0.1 + X + SIGMA * rng.normal(size=7)
        try:
            inside = np.array(linear_range(X, y).inside)
        except MethodError:
            inside = np.ones(7, dtype=bool)
        yield fit_line(X[inside], y[inside]).slope.interval(), 1.0


def limit(rng, sets, name="ICH Q2, residuals", sigma=SIGMA) -> Truths:
    k = {
        "ICH Q2, residuals": 3.3,
        "ISO 11843-2": noncentrality(5) * math.sqrt(1 + 1 / 7 + X.mean() ** 2 / np.sum((X - X.mean()) ** 2)),
    }[name]
    for line in lines(rng, sets, sigma):
        yield limits(line).named(name).interval, k * sigma


def limit_iso(rng, sets) -> Truths:
    return limit(rng, sets, "ISO 11843-2")


def limit_poor(rng, sets) -> Truths:
    return limit(rng, sets, sigma=0.2)


def limit_symmetric(rng, sets) -> Truths:
    for line in lines(rng, sets):
        yield limits(line).named("ICH Q2, residuals").value.interval(), 3.3 * SIGMA


def limit_first_order(rng, sets) -> Truths:
    for line in lines(rng, sets):
        value = 3.3 * line.residual_sd / line.slope.value
        u = value * math.hypot(1 / math.sqrt(2 * line.df), line.slope.u / line.slope.value)
        yield Measured(value=value, u=u, df=line.df).interval(), 3.3 * SIGMA


def limit_bootstrap(rng, sets) -> Truths:
    for line in lines(rng, min(sets, 2000)):
        pick = rng.integers(0, 7, size=(400, 7))
        x, y = X[pick], line.y[pick]
        dx = x - x.mean(axis=1, keepdims=True)
        sxx = np.sum(dx**2, axis=1)
        good = sxx > 0.05
        b = np.sum(dx * y, axis=1)[good] / sxx[good]
        rest = y[good] - y[good].mean(axis=1, keepdims=True) - b[:, None] * dx[good]
        draws = 3.3 * np.sqrt(np.sum(rest**2, axis=1) / 5) / b
        low, high = np.quantile(draws, [0.025, 0.975])
        yield Interval(low=float(low), high=float(high)), 3.3 * SIGMA


def limit_blanks(rng, sets) -> Truths:
    for line in lines(rng, sets):
        yield limits(line, blanks=SIGMA * rng.normal(size=8)).named("IUPAC 1976").interval, 3 * SIGMA


def _electrodes(rng, sets, m=3, sd=0.1) -> Iterator[list[Line]]:
    found = list(lines(rng, sets * m, slope=1 + sd * rng.normal(size=sets * m)))
    for k in range(sets):
        yield found[k * m : (k + 1) * m]


def mean_of_electrodes(rng, sets) -> Truths:
    for found in _electrodes(rng, sets):
        yield across_electrodes([f.slope for f in found]).mean.interval(), 1.0


def pooled(rng, sets) -> Truths:
    for found in _electrodes(rng, min(sets, 3000)):
        yield fit_line(np.tile(X, 3), np.concatenate([f.y for f in found])).slope.interval(), 1.0


def mixed(rng, sets, df=None) -> Truths:
    for found in _electrodes(rng, min(sets, 1500)):
        fit = random_slopes(
            np.tile(X, 3), np.concatenate([f.y for f in found]), [str(k) for k in range(3) for _ in X]
        )
        yield (
            Measured(value=fit.slope.value, u=fit.slope.u, df=fit.slope.df if df is None else df).interval(),
            1.0,
        )


def mixed_normal(rng, sets) -> Truths:
    return mixed(rng, sets, math.inf)


def between(rng, sets, m=3) -> Truths:
    for found in _electrodes(rng, sets, m):
        yield across_electrodes([f.slope for f in found]).rsd_interval, 0.1


def between_six(rng, sets) -> Truths:
    return between(rng, sets, 6)


def batches(rng, sets) -> Truths:
    for _ in range(sets):
        values = 1 + np.repeat(0.1 * rng.normal(size=4), 3) + 0.05 * rng.normal(size=12)
        yield nested(values, [b for b in "abcd" for _ in range(3)]).batches.interval, 0.1


def groups(rng, sets) -> Truths:
    for _ in range(sets):
        yield one_way(list(rng.normal(size=(5, 1)) + rng.normal(size=(5, 3)))).between_interval, 1.0


def repeatability(rng, sets) -> Truths:
    from halfcell.statistics.noncentral import sd_interval

    for _ in range(sets):
        yield sd_interval(float(rng.normal(size=6).std(ddof=1)), 5), 1.0


def false_level(rng, sets) -> Truths:
    x, z = np.tile(X, 2), np.repeat([0.0, 1.0], 7)
    for _ in range(sets):
        yield confounding(x, z, 0.1 + x + 0.5 * z + SIGMA * rng.normal(size=14)).equivalent.interval, 0.5


def false_blank(rng, sets) -> Truths:
    x, z = np.append(X, 0.0), np.append(np.zeros(7), 1.0)
    for _ in range(sets):
        yield confounding(x, z, 0.1 + x + 0.5 * z + SIGMA * rng.normal(size=8)).equivalent.interval, 0.5


def retention(rng, sets) -> Truths:
    x, late = np.tile(X, 2), np.repeat([0.0, 1.0], 7)
    design = np.column_stack([1 - late, x * (1 - late), x * late, late])
    for _ in range(sets):
        fit = fit_linear(design, 0.1 + np.where(late > 0, 0.8, 1.0) * x + SIGMA * rng.normal(size=14))
        found = ratio(fit.coefficient(2), fit.coefficient(1), covariance=float(fit.covariance[1, 2]))
        yield found.interval, 0.8


def saturating(rng, sets) -> Truths:
    x = np.array([0, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2])
    for _ in range(sets):
        try:
            yield (
                fit_saturation(x, 20 * x / (1 + x / 2) + 0.02 * rng.normal(size=8)).sensitivity.interval(),
                20.0,
            )
        except MethodError:
            continue


def unsure(rng, sets) -> Truths:
    x = np.linspace(0, 1, 8)
    for _ in range(sets):
        found = fit_unsure_line(x + 0.03 * rng.normal(size=8), x + 0.03 * rng.normal(size=8), 0.03, 0.03)
        yield found.slope.interval(), 1.0


def plateau(rng, sets, rho=0.7) -> Truths:
    from halfcell.amperometry.truth import coloured

    t = np.arange(250) / 10
    for _ in range(sets):
        yield steady_mean(t, coloured(rng, 250, 1.0, rho)).mean.interval(), 0.0


def plateau_long_memory(rng, sets) -> Truths:
    return plateau(rng, sets, 0.95)


ROWS: tuple[tuple[str, Callable, bool], ...] = (
    ("sensitivity of one electrode (line, t), 7 levels", slope, True),
    ("intercept (line, t)", intercept, True),
    ("sensitivity after the linear range was sought", after_range, True),
    ("intercept, scatter grows as √c, weights 1/x", weighted, True),
    ("intercept, scatter grows as √c, no weights", unweighted, False),
    ("mean sensitivity of 3 electrodes (mean of slopes, t with 2 df)", mean_of_electrodes, True),
    ("the same, mixed model by REML, t with 2 df", mixed, False),
    ("the same, mixed model by REML, normal quantile", mixed_normal, False),
    ("the same, all points pooled as if independent", pooled, False),
    ("scatter between 3 electrodes", between, True),
    ("scatter between 6 electrodes", between_six, True),
    ("scatter between 4 batches of 3", batches, True),
    ("scatter between 5 groups of 3 readings", groups, True),
    ("repeatability from 6 readings (χ²)", repeatability, True),
    ("limit of detection, ICH residuals (noncentral t)", limit, True),
    ("detection limit, ISO 11843-2 (noncentral t)", limit_iso, True),
    ("limit of detection, slope known to 20 % only", limit_poor, True),
    ("limit of detection, value ± u with Student's t", limit_symmetric, True),
    ("the same with first-order u", limit_first_order, False),
    ("the same, percentile bootstrap of pairs", limit_bootstrap, False),
    ("limit from 8 blanks, IUPAC 1976 (MOVER)", limit_blanks, True),
    ("content of a sample, 2 readings (Fieller)", content, True),
    ("content, slope poorly known (Fieller)", content_poor, True),
    ("content, slope poorly known (usual approximation)", content_simple, False),
    ("content by standard addition (Fieller)", addition, True),
    ("false concentration, lines with and without (Fieller)", false_level, True),
    ("false concentration, one blank with it (Fieller)", false_blank, True),
    ("retention (Fieller)", retention, True),
    ("initial sensitivity of a site-limited curve", saturating, True),
    ("line with errors in x, known uncertainties", unsure, True),
    ("plateau mean, 250 readings, lag-1 correlation 0.7", plateau, True),
    ("plateau mean, 250 readings, lag-1 correlation 0.95", plateau_long_memory, True),
)
"""What, the simulation, and whether it is what the analysis reports."""


def covered(make: Callable, seed: int, sets: int) -> tuple[int, int]:
    hit = total = 0
    for interval, truth in make(np.random.default_rng(seed), sets):
        hit += interval.low <= truth <= interval.high
        total += 1
    return hit, total


def rates(seed: int, sets: int) -> list[tuple[str, float, float]]:
    """False positives at the decision limit and false negatives at the detection limit."""
    out = []
    rng = np.random.default_rng(seed)
    for levels, readings in ((5, 1), (6, 1), (7, 1), (8, 1), (6, 3)):
        x = np.linspace(0, 1, levels)
        y = 0.2 + x + 0.05 * rng.normal(size=(sets, levels))
        dx = x - x.mean()
        sxx = float(dx @ dx)
        b = y @ dx / sxx
        a = y.mean(axis=1) - b * x.mean()
        df = levels - 2
        s = np.sqrt(np.sum((y - a[:, None] - b[:, None] * x) ** 2, axis=1) / df)
        root = math.sqrt(1 / readings + 1 / levels + x.mean() ** 2 / sxx)
        decision = a + special.stdtrit(df, 0.95) * s * root
        noise = 0.05 / math.sqrt(readings)
        for name, k in (
            ("ISO 11843-2 (δ)", noncentrality(df)),
            ("DIN 32645 (2 t)", 2 * special.stdtrit(df, 0.95)),
        ):
            blank = 0.2 + noise * rng.normal(size=sets)
            sample = 0.2 + k * 0.05 * root + noise * rng.normal(size=sets)
            out.append(
                (
                    f"{name}, {levels} levels, {readings} reading{'s' if readings > 1 else ''}",
                    float(np.mean(blank > decision)),
                    float(np.mean(sample < decision)),
                )
            )
    for n in (7, 10, 20):
        blanks = 0.05 * rng.normal(size=(sets, n))
        s, pair = blanks.std(axis=1, ddof=1), math.sqrt(1 + 1 / n)
        decision = blanks.mean(axis=1) + special.stdtrit(n - 1, 0.95) * s * pair
        sample = noncentrality(n - 1) * 0.05 * pair + 0.05 * rng.normal(size=sets)
        out.append(
            (
                f"Currie 1995, {n} blanks",
                float(np.mean(0.05 * rng.normal(size=sets) > decision)),
                float(np.mean(sample < decision)),
            )
        )
    n = 8
    blanks = 0.05 * rng.normal(size=(sets, n))
    three = blanks.mean(axis=1) + 3 * blanks.std(axis=1, ddof=1)
    sample = 3 * 0.05 + 0.05 * rng.normal(size=sets)
    out.append(
        (
            f"three sigma (IUPAC 1976) used as decision, {n} blanks",
            float(np.mean(0.05 * rng.normal(size=sets) > three)),
            float(np.mean(sample < three)),
        )
    )
    return out


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--sets", type=int, default=10_000)
    parser.add_argument("--rates", type=int, default=40_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--keep", type=Path, help="a JSON file of rows already done, so that a run can be continued"
    )
    parser.add_argument("--to", type=Path, default=Path(__file__).parent.parent / "docs" / "coverage.md")
    given = parser.parse_args()
    begin = time.monotonic()
    page = [
        "# Coverage of the intervals",
        "",
        f"Made by `python tools/calibration_coverage.py --sets {given.sets} --rates {given.rates} --seed {given.seed}`: data simulated with known truth, the public functions asked for their 95 % intervals, and the share that holds the truth counted. The last column is the standard error of that share.",
        "",
        "“Reported” rows are what the analysis reports; they are meant to lie in 94–96 %. The others are the usual alternatives, shown so that the choice can be judged.",
        "",
        "| interval | reported | sets | coverage / % | ± / % |",
        "| --- | --- | --- | --- | --- |",
    ]
    kept = json.loads(given.keep.read_text("utf-8")) if given.keep and given.keep.exists() else {}
    for what, make, reported in ROWS:
        start = time.monotonic()
        hit, total = kept.get(what) or covered(make, given.seed, given.sets)
        kept[what] = [hit, total]
        if given.keep:
            given.keep.write_text(json.dumps(kept), encoding="utf-8")
        p = hit / total
        page.append(
            f"| {what} | {'yes' if reported else 'no'} | {total} | {100 * p:.1f} | {100 * math.sqrt(p * (1 - p) / total):.1f} |"
        )
        print(page[-1], f"{time.monotonic() - start:.0f} s", flush=True)
    page += [
        "",
        "# Error rates of the limits",
        "",
        f"{given.rates} simulated calibrations (or sets of blanks) each. False positives: a blank read above the decision limit. False negatives: a sample at the true detection limit read below it. Meant: 5 % ± 0.5 % each.",
        "",
        "| limit | false positives / % | false negatives / % |",
        "| --- | --- | --- |",
    ]
    for what, alpha, beta in rates(given.seed, given.rates):
        page.append(f"| {what} | {100 * alpha:.2f} | {100 * beta:.2f} |")
        print(page[-1], flush=True)
    page += ["", NOTES]
    given.to.write_text("\n".join(page) + "\n", encoding="utf-8")
    print(f"{given.to} in {time.monotonic() - begin:.0f} s")


NOTES = """# What follows from it

* With three electrodes the mixed model's usual interval, with a normal quantile, and above all pooling all points, cover far too seldom. The reported interval is that of the mean of the electrodes' own slopes with m − 1 degrees of freedom.
* A detection limit is a multiple of an estimated standard deviation. Its first-order uncertainty with Student's t covers too seldom, the bootstrap of so few pairs much too seldom; the reported interval is exact, and the standard uncertainty in the table of findings is the one whose symmetric interval has the stated level.
* A plateau whose noise remembers most of itself (lag-1 correlation 0.95) holds only some six readings' worth of information in 250; its interval then covers about 93 % instead of 95 %. The calibration does not rest on it: a line's uncertainty comes from the scatter of its points.
* With three electrodes the mixed model with m − 1 degrees of freedom is on the safe side, because a variance it estimates as zero goes to the other parts.
* Scatter between electrodes whose true value is small has an interval that ends at zero and covers a little more often than stated.
* Seeking the linear range first costs a little coverage, because a straight line is cut short by chance in one case of twenty. `span = "all levels"` avoids it where the range is known beforehand.
* The plain 2t of DIN 32645 gives fewer false negatives than stated: its detection limit is a little too large with few degrees of freedom. Three sigma used to decide gives neither 5 % nor anything near equal risks.
"""


if __name__ == "__main__":
    main()
