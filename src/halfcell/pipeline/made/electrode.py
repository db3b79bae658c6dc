"""The fields of one electrode taken together into its findings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.micrographs.clark_evans import SIMULATED
from halfcell.micrographs.detected import groups_of_three
from halfcell.micrographs.evenness import judge
from halfcell.micrographs.fields import field_mean, pooled_density, pooled_mean
from halfcell.micrographs.sizes import Sizes, sizes
from halfcell.pipeline.made.metal import metal_per_area
from halfcell.results import Measured
from halfcell.units import percent

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.made.field import Field
    from halfcell.study.model import Run


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Made:
    """One electrode's findings, and what its drawings need."""

    findings: tuple[Finding, ...]
    sizes: Sizes | None
    verdict: str
    p: float
    why: str = ""


@dataclass(slots=True, kw_only=True)
class _Writer:
    """Writes findings of one electrode."""

    bench: Bench
    electrode: str
    runs: tuple[Run, ...]
    settings: Mapping[str, Any]
    rows: list[Finding]
    doubts: tuple[str, ...] = ()
    """Why outlines are in question: said at every number that rests on them."""

    def __call__(
        self, name: str, measured: Measured, method: str, *, text: str = "", notes: tuple[str, ...] = ()
    ) -> None:
        self.rows.append(
            self.bench.finding(
                name, measured, method=method, electrode=self.electrode, text=text, runs=self.runs,
                settings=self.settings, notes=(*notes, *self.doubts),
            )
        )  # fmt: skip


def electrode_findings(bench: Bench, electrode: str, runs: tuple[Run, ...], fields: list[Field]) -> Made:
    """Sizes, counts, sums and arrangement over all fields of an electrode."""
    chosen = bench.study.file.analysis.micrographs
    settings = {
        "shape": chosen.particle_shape,
        "data_bar": chosen.data_bar,
        "fields": len(fields),
        "confidence": bench.confidence,
    }
    write = _Writer(
        bench=bench, electrode=electrode, runs=runs, settings=settings, rows=[], doubts=_doubts(fields)
    )
    number, area = [f.number for f in fields], [f.area for f in fields]
    write("particles_counted", Measured(value=float(sum(number)), u=0.0), "counting frame")
    write("particle_density", pooled_density(number, area), "counting frame")
    clumps, groups = sum(f.found.clumps for f in fields), sum(groups_of_three(f.found.group) for f in fields)
    write(
        "agglomerates_counted", Measured(value=float(clumps + groups), u=0.0), "regions above half height",
        notes=(f"{clumps} irregular regions, {groups} groups of three or more particles in contact",),
    )  # fmt: skip
    described, why = _sizes(write, fields, bench.confidence)
    _sums(write, fields, bench)
    verdict, p = _arrangement(write, fields, bench.confidence)
    return Made(findings=tuple(write.rows), sizes=described, verdict=verdict, p=p, why=why)


def _doubts(fields: list[Field]) -> tuple[str, ...]:
    doubtful = [PurePosixPath(f.file).name for f in fields if f.quality.doubts]
    if not doubtful:
        return ()
    named = ", ".join(doubtful[:4]) + (" and others" if len(doubtful) > 4 else "")
    return (
        f"the outlines of {len(doubtful)} of {len(fields)} fields are in doubt ({named}); see the warnings",
    )


def _sizes(write: _Writer, fields: list[Field], level: float) -> tuple[Sizes | None, str]:
    diameters = [f.diameter[f.whole > 0.5] for f in fields]
    weights = [f.weight[f.whole > 0.5] for f in fields]
    try:
        described = sizes(np.concatenate(diameters), np.concatenate(weights), level=level)
    except MethodError as refused:
        return None, str(refused)
    write("particle_diameter", pooled_mean(diameters, weights), "outlines at half height")
    write("particle_diameter_median", described.median, "size statistics")
    write("volume_mean_diameter", described.volume_mean, "size statistics")
    write("size_spread", described.relative_spread, "size statistics")
    write("size_spread_absolute", described.spread, "size statistics")
    low, high = described.quartiles
    spread = 1.1664 * described.spread.value / math.sqrt(described.n_effective)
    quartile_u = Measured(value=float(high - low), u=1.36 * spread, df=described.spread.df)
    write(
        "size_interquartile",
        quartile_u,
        "size statistics",
        notes=("uncertainty as of a normal distribution's quartiles",),
    )
    two = described.mixture
    notes: tuple[str, ...] = ()
    if two is not None:
        notes = (
            f"medians {two.medians[0] * 1e9:.1f} and {two.medians[1] * 1e9:.1f} nm, shares {percent(two.shares[0])} and "
            f"{percent(two.shares[1])}; BIC lower by {two.evidence:.0f} than for one population",
        )
    write("size_populations", Measured(value=2.0 if two else 1.0, why="a count by a criterion, without an uncertainty"), "size populations", notes=notes)  # fmt: skip
    needed = Measured(value=float(described.needed_mean), u=2 * described.needed_mean * described.relative_spread.u / described.relative_spread.value if described.relative_spread.value else 0.0)  # fmt: skip
    write(
        "particles_needed",
        needed,
        "number needed",
        notes=(f"for D[4,3] by the {described.volume_by}: {described.needed_volume}",),
    )
    return described, ""


def _sums(write: _Writer, fields: list[Field], bench: Bench) -> None:
    made = bench.study.electrode(write.electrode)
    areas = np.array([f.area for f in fields])
    share = areas / areas.mean()
    write(
        "coverage", field_mean(share * np.array([f.surface.coverage for f in fields])), "coverage and metal"
    )
    write("agglomerated", field_mean([f.agglomerated for f in fields]), "regions above half height")
    metal = metal_per_area(fields, bench.study.file.analysis.micrographs.particle_shape)
    write("metal_area_ratio", metal.metal_area.measured, "coverage and metal", notes=metal.metal_area.notes)
    if made.density is not None:
        mass = metal.volume.measured.times(made.density)
        write("metal_mass_per_area", mass, "coverage and metal", notes=metal.volume.notes)
    gaps = [f.surface.gap[np.isfinite(f.surface.gap)] * f.metres_per_pixel for f in fields]
    gaps = [g for g in gaps if len(g)]
    if gaps:
        write("particle_gap", _median_of_fields(gaps), "coverage and metal")
    inside = [f.found.group >= 0 for f in fields if len(f.found)]
    if inside:
        write("in_contact", field_mean([float(g.mean()) for g in inside]), "outlines at half height")


def _median_of_fields(values: list[Any]) -> Measured:
    together = np.concatenate(values)
    if len(values) > 1:
        medians = np.array([float(np.median(v)) for v in values])
        return Measured(value=float(np.median(together)), u=float(medians.std(ddof=1)) / math.sqrt(len(medians)), df=float(len(medians) - 1))  # fmt: skip
    q = np.quantile(
        together, np.clip([0.5 - 0.5 / math.sqrt(len(together)), 0.5 + 0.5 / math.sqrt(len(together))], 0, 1)
    )
    return Measured(value=float(np.median(together)), u=float(q[1] - q[0]) / 2, df=float(len(together) - 1))


def _arrangement(write: _Writer, fields: list[Field], level: float) -> tuple[str, float]:
    judged = [f.evenness for f in fields if f.evenness is not None]
    if not judged:
        return "", math.nan
    weight = np.array([e.n for e in judged], dtype=float)
    ratio = np.array([e.ratio.value for e in judged])
    mean = float(np.average(ratio, weights=weight))
    alone = math.sqrt(float((weight**2 * np.array([e.ratio.u for e in judged]) ** 2).sum())) / weight.sum()
    u, df = alone, math.inf
    if len(judged) > 1:
        between = math.sqrt(float(np.average((ratio - mean) ** 2, weights=weight)) / (len(judged) - 1))
        if between > alone:
            u, df = between, float(len(judged) - 1)
    random = float(np.average([e.ratio_random for e in judged], weights=weight))
    notes: tuple[str, ...] = (f"the same particles at random without overlap: {random:.3f}",)
    masked = sum(e.area < 0.999 * e.width * e.height for e in judged)
    if masked:
        notes += (
            f"{masked} of {len(judged)} fields are partly masked: there the distance expected at random is the mean of {SIMULATED} simulated patterns in what is left, not Donnelly's",
        )
    write("evenness_ratio", Measured(value=mean, u=u, df=df), "nearest neighbours", notes=notes)
    p_nearest, p_l, p, verdict = judge([e.statistics for e in judged], level)
    notes = (f"p = {p:.3f} (nearest distances {p_nearest:.3f}, Ripley's L {p_l:.3f}) against 199 random placements in each of {len(judged)} fields",)  # fmt: skip
    write(
        "evenness",
        Measured(value=math.nan),
        "arrangement against hard discs at random",
        text=verdict,
        notes=notes,
    )
    dispersed = [e.vmr for e in judged if math.isfinite(e.vmr)]
    if dispersed:
        write("quadrat_dispersion", field_mean(dispersed), "quadrats")
    return verdict, p


def charge_finding(bench: Bench, electrode: str) -> tuple[Finding, ...]:
    """Mass by Faraday's law where the recipe states a charge; the charge's run is the recipe, no file."""
    made = bench.study.electrode(electrode)
    if made.deposition_charge is None or not made.deposition_electrons or made.molar_mass is None:
        return ()
    efficiency = made.current_efficiency or 1.0
    mass = efficiency * abs(made.deposition_charge) * made.molar_mass / (made.deposition_electrons * FARADAY)
    why = "stated charge without an uncertainty"
    if not made.current_efficiency:
        why += "; current efficiency not stated, taken as 1: an upper limit"
    measured = Measured(value=mass / made.area, why=why)
    return (bench.finding("deposited_mass_per_area", measured, method="charge to mass", electrode=electrode),)


def effect_findings(
    bench: Bench, electrode: str, runs: tuple[Run, ...], fields: list[Field]
) -> tuple[Finding, ...]:
    """What a person's decisions changed, in standard uncertainties of the result without them."""
    if not any(f.before for f in fields):
        return ()
    old = [f.before or f for f in fields]
    pairs = {
        "particle_density": (pooled_density([f.number for f in fields], [f.area for f in fields]), pooled_density([b.number for b in old], [b.area for b in old])),
        "coverage": (field_mean([f.surface.coverage for f in fields]), field_mean([b.surface.coverage for b in old])),
    }  # fmt: skip
    try:
        pairs["particle_diameter"] = (
            pooled_mean(
                [f.diameter[f.whole > 0.5] for f in fields], [f.weight[f.whole > 0.5] for f in fields]
            ),
            pooled_mean([b.diameter[b.whole > 0.5] for b in old], [b.weight[b.whole > 0.5] for b in old]),
        )
    except MethodError:
        # Without a particle there is no diameter, with or without the decisions.
        pairs.pop("particle_diameter", None)
    count = sum(f.decided for f in fields)
    out = []
    for name, (new, before) in pairs.items():
        change = new.value - before.value
        relative = f"{percent(change / before.value, 2, sign=True)}" if before.value else f"{change:+.3g}"
        effect = Measured(value=change / before.u if before.u > 0 else math.nan, why="a difference of the same data, without an uncertainty of its own")  # fmt: skip
        notes = (f"{count} decisions changed it by {relative}",)
        out.append(bench.finding("adjustment_effect", effect, method="replay of adjustments", electrode=electrode, condition=name, runs=runs, notes=notes))  # fmt: skip
    return tuple(out)
