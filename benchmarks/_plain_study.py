"""The reference of the benchmark ``study``: a straight-line script over the same folder.

What an able person writes for one study with pandas, scipy and scikit-image: every file is read with
the options of its kind, blanks are subtracted, peaks are measured over a handful of baselines, the
three shapes of a response are fitted, capacitances, calibrations and growth curves are regressed, and
micrographs go through Gaussian, Otsu, distance transform and watershed. One process, no cache, no
uncertainties beyond the regressions', no report.
"""

from __future__ import annotations

import csv
import itertools
import sys
import tomllib
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy import ndimage, optimize, signal, spatial, stats

F, R, T = 96485.33212, 8.314462618, 298.15


def read(path: Path, area: float, sweep: bool) -> pd.DataFrame:
    """Columns E (V), t (s), i (A) of one export."""
    name = path.name
    if name.startswith("Cu"):
        table = pd.read_csv(path, sep=";", decimal=",", encoding="utf-16", skiprows=4, skip_blank_lines=False)
        table = table.rename(columns={"Potential / mV": "E", "Current / µA": "i", "Time / s": "t"})
        table["i"] *= 1e-6
        if sweep:
            table["E"] *= 1e-3
    elif name.startswith("Rh"):
        table = pd.read_csv(path, skiprows=[1], encoding="utf-8-sig")
        table = table.rename(columns={"potential": "E", "current density": "i", "time": "t"})
        table["i"] *= 10 * area
    elif name.startswith("Ni"):
        table = pd.read_csv(path, sep="\t", skiprows=40, skip_blank_lines=True)
        table = table.rename(columns={"E/V": "E", "i/A": "i", "t/s": "t"})
    else:
        names = ["E", "i"] if sweep else ["t", "i"]
        table = pd.read_csv(path, sep=r"\s+", skiprows=1, header=None, names=names, encoding="latin-1")
        table["i"] *= 1e-9
        if sweep:
            table["E"] *= 1e-3
    return table


def branches(table: pd.DataFrame) -> list[tuple[np.ndarray, np.ndarray]]:
    """Potential and current of each sweep, split at the turning points."""
    e, i = table["E"].to_numpy(), table["i"].to_numpy()
    turns = np.flatnonzero(np.diff(np.sign(np.diff(e))) != 0) + 1
    return [(a, b) for a, b in zip(np.split(e, turns), np.split(i, turns), strict=True) if a.size > 20]


def peak_of(e: np.ndarray, i: np.ndarray, sign: int) -> dict[str, float]:
    """Peak over some plausible straight and curved baselines."""
    y = sign * signal.savgol_filter(i, 11, 2)
    top = int(np.argmax(y))
    heights = []
    for part in (0.25, 0.35, 0.45, 0.55):
        for order in (0, 1, 2):
            foot = slice(5, max(20, int(top * part)))
            base = np.polyval(np.polyfit(e[foot], y[foot], order), e[top])
            heights.append(y[top] - base)
    height = float(np.mean(heights))
    half = int(np.argmax(y > y[top] - height / 2))
    charge = float(np.trapezoid(y, e))
    noise = float(np.std(np.diff(i)) / np.sqrt(2))
    after = float(y[top:].min())
    return {
        "ip": height,
        "u": float(np.std(heights)),
        "Ep": e[top],
        "Ehalf": e[half],
        "Q": charge,
        "snr": height / noise,
        "def": 1 - after / y[top],
    }


def shapes(e: np.ndarray, i: np.ndarray, sign: int) -> list[float]:
    """BIC of no response, a wave, and a peak on a straight background, with AR(1) differences."""
    x, y = e[::8], sign * i[::8] * 1e6
    f = F / R / T * sign

    def wave(x: np.ndarray, a: float, b: float, h: float, e0: float, w: float) -> Any:
        return a + b * x + h / (1 + np.exp(np.clip(-f * (x - e0) / w, -60, 60)))

    def peak(x: np.ndarray, a: float, b: float, h: float, e0: float, w: float, g: float) -> Any:
        u = np.clip(f * (x - e0) / w, -60, 60)
        s = 1 / (1 + np.exp(-u))
        return a + b * x + h * s * (1 - s) + g * s

    out = [y.size * np.log(np.var(y - np.polyval(np.polyfit(x, y, 1), x))) + 2 * np.log(y.size)]
    at = x[int(np.argmax(y))]
    for model, start in ((wave, [0, 0, y.max(), at, 2.0]), (peak, [0, 0, 4 * y.max(), at, 2.0, y.max() / 3])):
        best = np.inf
        for shift in (-0.1, 0.0, 0.1):
            p0 = np.array(start, float)
            p0[3] += shift
            try:
                p, _ = optimize.curve_fit(model, x, y, p0, maxfev=2000)
            except RuntimeError:
                continue
            r = y - model(x, *p)
            rho = float(np.corrcoef(r[1:], r[:-1])[0, 1])
            best = min(best, y.size * np.log(np.var(r[1:] - rho * r[:-1])) + p.size * np.log(y.size))
        out.append(best)
    return out


def plateaus(table: pd.DataFrame, log: list[dict[str, str]]) -> tuple[np.ndarray, np.ndarray, float]:
    """Concentrations, robust plateau means and the mean t90 of an additions record."""
    t, i = table["t"].to_numpy(), table["i"].to_numpy()
    at = np.array([float(row["time"].split()[0]) for row in log])
    v = np.cumsum([float(row["volume"].split()[0]) for row in log]) * 1e-9
    c = np.concatenate([[0.0], 10.0 * v / (20e-6 + v)])
    edges = np.concatenate([[0.0], at, [t[-1]]])
    means, times = [], []
    for a, b in itertools.pairwise(edges):
        last = i[(t > a + 0.45 * (b - a)) & (t < b - 1)]
        centre = np.median(last)
        spread = stats.median_abs_deviation(last, scale="normal")
        kept = last[np.abs(last - centre) < 4 * spread]
        rho = np.corrcoef(kept[1:], kept[:-1])[0, 1]
        means.append((kept.mean(), kept.std() / np.sqrt(kept.size * (1 - rho) / (1 + rho))))
    for k, a in enumerate(at):
        rise = (t > a) & (t < a + 20)
        share = (i[rise] - means[k][0]) / (means[k + 1][0] - means[k][0])
        fit, _ = optimize.curve_fit(
            lambda x, tau: 1 - np.exp(-x / tau), t[rise] - a, share, [1.0], maxfev=2000
        )
        times.append(2.303 * fit[0])
    return c, np.array([m for m, _ in means]), float(np.median(times))


def growth(table: pd.DataFrame) -> list[float]:
    """Instantaneous and progressive growth, each fitted to the whole curve."""
    t, i = table["t"].to_numpy()[1:], -table["i"].to_numpy()[1:] * 1e6
    out = []
    for power in (1, 2):

        def curve(x: np.ndarray, a: float, b: float, c0: float, tau: float, bg: float, n: int = power) -> Any:
            return a / np.sqrt(x) * -np.expm1(-np.abs(b) * x**n) + c0 * np.exp(-x / np.abs(tau)) + bg

        try:
            p, _ = optimize.curve_fit(curve, t, i, [i.max(), 1.0, i[0], 0.05, 0.0], maxfev=4000)
            out.append(float(np.var(i - curve(t, *p))))
        except RuntimeError:
            out.append(float("nan"))
    return out


def particles(path: Path, pixel: float) -> dict[str, float]:
    """Sizes, number and evenness of the particles of one image."""
    from skimage import feature, filters, io, measure, segmentation

    image = io.imread(path).astype(float)
    image /= image.max()
    if path.name.startswith(("Cu", "Rh")):
        image = image[:-48]
    smooth = filters.gaussian(image, 1.5)
    mask = smooth > filters.threshold_otsu(smooth)
    distance = ndimage.distance_transform_edt(mask)
    tops = feature.peak_local_max(distance, min_distance=6, labels=measure.label(mask))
    marks = np.zeros(mask.shape, int)
    marks[tuple(tops.T)] = np.arange(1, len(tops) + 1)
    labels = segmentation.clear_border(segmentation.watershed(-distance, marks, mask=mask))
    props = measure.regionprops_table(
        labels,
        image,
        properties=("area", "equivalent_diameter_area", "centroid", "eccentricity", "intensity_mean"),
    )
    d = props["equivalent_diameter_area"] * pixel
    xy = np.column_stack([props["centroid-1"], props["centroid-0"]]) * pixel
    near = spatial.cKDTree(xy).query(xy, k=2)[0][:, 1]
    frame = image.size * pixel**2
    expected = 0.5 / np.sqrt(len(d) / frame)
    envelope = []
    rng = np.random.default_rng(1)
    for _ in range(99):
        other = rng.random((len(d), 2)) * [image.shape[1] * pixel, image.shape[0] * pixel]
        envelope.append(spatial.cKDTree(other).query(other, k=2)[0][:, 1].mean() / expected)
    lognormal = stats.lognorm.fit(d, floc=0)
    return {
        "d": d.mean(),
        "s": d.std() / d.mean(),
        "n": len(d) / frame,
        "cover": mask.mean(),
        "even": near.mean() / expected,
        "p": float(np.mean(np.array(envelope) > near.mean() / expected)),
        "log": lognormal[0],
    }


def main(folder: Path) -> dict[str, dict[str, Any]]:
    """Everything, file by file."""
    study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
    rows = list(csv.DictReader((folder / "runs.csv").read_text(encoding="utf-8").splitlines()))
    of: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows:
        of[row["electrode"]].append(row)
    result: dict[str, dict[str, Any]] = {}
    for name, runs in of.items():
        area = float(study["electrodes"][name]["area"].split()[0]) * 1e-4
        result[name] = one_electrode(folder, runs, area, -1 if name[:2] in {"Cu", "Rh"} else 1)
    sensitivities = defaultdict(list)
    for name, found in result.items():
        sensitivities[study["electrodes"][name]["material"]].append(abs(found["S"]))
    groups = list(sensitivities.values())
    result["all"] = {"anova": stats.f_oneway(*groups).pvalue}
    return result


def one_electrode(folder: Path, runs: list[dict[str, str]], area: float, sign: int) -> dict[str, Any]:
    """The numbers of one electrode."""
    found: dict[str, Any] = {}
    blanks: dict[str, list[tuple[np.ndarray, np.ndarray]]] = {}
    rates, halves, peaks = [], [], []
    for row in runs:
        path = folder / row["file"]
        if row["technique"] == "micrograph":
            found[row["file"]] = particles(path, 1.5e-9)
            continue
        sweep = row["technique"] == "cyclic voltammogram"
        table = read(path, area, sweep)
        if row["technique"] == "deposition":
            found["growth"], found["Qdep"] = growth(table), float(np.trapezoid(table["i"], table["t"]))
        elif row["technique"] == "additions":
            log = list(csv.DictReader((folder / row["log"]).read_text(encoding="utf-8").splitlines()))
            c, i, t90 = plateaus(table, log)
            line = stats.linregress(c, i)
            scatter = np.std(i - line.intercept - line.slope * c, ddof=2)
            if row["solution"] == "buffer":
                found |= {"S": line.slope, "LOD": 3.3 * scatter / abs(line.slope), "t90": t90, "i0": i[0]}
            else:
                found["oxygen"] = (i[0] - found["i0"]) / found["S"]
        else:
            rate, parts = float(row["scan_rate"].split()[0]) * 1e-3, branches(table)
            if row["concentration"].startswith("0"):
                if row["solution"] == "buffer":
                    blanks[row["scan_rate"]] = parts
                    (e1, i1), (e2, i2) = parts[-2], parts[-1]
                    up, down = np.argsort(e1), np.argsort(e2)
                    middle = np.linspace(e1.min() + 0.2, e1.max() - 0.4, 40)
                    half = np.interp(middle, e1[up], i1[up]) - np.interp(middle, e2[down], i2[down])
                    rates.append(rate)
                    halves.append(abs(float(half.mean())) / 2)
                continue
            e, i = parts[-2]
            if row["scan_rate"] in blanks:
                eb, ib = blanks[row["scan_rate"]][-2]
                order = np.argsort(eb)
                i = i - np.interp(e, eb[order], ib[order])
            peaks.append((rate, peak_of(e, i, sign)))
            found.setdefault("bic", []).append(shapes(e, i, sign))
    found["C"] = stats.linregress(rates, halves).slope / area
    if len(peaks) > 2:
        found["b"] = stats.linregress(
            np.log([r for r, _ in peaks]), np.log([p["ip"] for _, p in peaks])
        ).slope
    found["peaks"] = peaks
    return found


if __name__ == "__main__":
    main(Path(sys.argv[1]))
