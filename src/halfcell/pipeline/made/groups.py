"""From surface to current, and where sizes vary: findings that join several fields or electrodes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.diffusion_regime import Regime, diffusion_regime, layer_of_step, layer_of_sweep
from halfcell.micrographs.nested import nested_variance
from halfcell.results import Measured

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.made.field import Field
    from halfcell.study.model import Run

_USUAL_DIFFUSION = 1e-9
"""m²/s, of a small ion or molecule in water, where the study states none (common practice, no source)."""
_STEP_TIMES = (0.1, 1.0, 10.0)
"""Times after a step at which the regime is told, s (common practice, no source)."""


def regime_findings(
    bench: Bench, electrode: str, runs: tuple[Run, ...], fields: list[Field]
) -> tuple[Finding, ...]:
    """The diffusion regime at each scan rate, and at three times where the electrode was stepped."""
    number, area = sum(f.number for f in fields), sum(f.area for f in fields)
    if not number:
        return ()
    file = bench.study.file
    diffusion = file.diffusion_coefficient or _USUAL_DIFFUSION
    radius = float(np.average(np.concatenate([f.diameter for f in fields]))) / 2
    density = number / area
    swept = sorted(
        {
            run.scan_rate
            for run in bench.study.runs_of("cyclic voltammogram", "linear sweep", electrode=electrode)
            if run.scan_rate
        }
    )
    stepped = bench.study.runs_of("potential step", electrode=electrode)
    cases = [
        (
            f"{1e3 * v:g} mV/s",
            layer_of_sweep(v, diffusion, electrons=file.electrons or 1, temperature=file.temperature),
        )
        for v in swept
    ]
    cases += [
        (f"{t:g} s after a step", layer_of_step(t, diffusion)) for t in (_STEP_TIMES if stepped else ())
    ]
    settings = {"diffusion_coefficient": diffusion, "electrons": file.electrons or 1}
    assumed = () if file.diffusion_coefficient else ("diffusion coefficient not stated, 1e-5 cm²/s taken",)
    out = []
    for condition, layer in cases:
        try:
            regime = diffusion_regime(layer, radius=radius, density=density)
        except MethodError:
            continue
        out.append(
            bench.finding(
                "diffusion_overlap", Measured(value=math.nan), method="diffusion categories", electrode=electrode,
                condition=condition, text=regime.category, runs=runs, settings=settings, notes=(_words(regime), *assumed),
            )
        )  # fmt: skip
    return tuple(out)


def _words(regime: Regime) -> str:
    return (
        f"diffusion layer {regime.layer * 1e6:.3g} µm, radius {regime.radius * 1e9:.3g} nm, half distance "
        f"{regime.half_distance * 1e9:.3g} nm: {regime.meaning}"
    )


def variance_findings(bench: Bench, fields: dict[str, list[Field]]) -> tuple[Finding, ...]:
    """Shares of the variance of size in each group with several electrodes or fields."""
    groups: dict[str, dict[str, list[Field]]] = {}
    for electrode, own in fields.items():
        if own:
            groups.setdefault(bench.study.group(electrode), {})[electrode] = own
    out: list[Finding] = []
    for group, electrodes in groups.items():
        sizes = {name: [f.diameter[f.whole > 0.5] for f in own] for name, own in electrodes.items()}
        files = {f.file for own in electrodes.values() for f in own}
        runs = tuple(run for run in bench.study.runs_of("micrograph") if run.file in files)
        try:
            parts = nested_variance(sizes)
        except MethodError:
            continue
        if parts.total <= 0 or parts.fields < 2:
            continue
        counts = f"{parts.electrodes} electrodes, {parts.fields} fields, {parts.particles} particles"
        for condition, value, p in (
            ("between electrodes", parts.between_electrodes, parts.p_electrodes),
            ("between fields", parts.between_fields, parts.p_fields),
            ("within fields", parts.within_fields, math.nan),
        ):
            if not math.isfinite(value):
                continue
            notes = (counts, f"p = {p:.3g} that it is zero" if math.isfinite(p) else "")
            share = Measured(
                value=value / parts.total,
                why="a share of estimated components; its significance is the p value",
            )
            out.append(
                bench.finding(
                    "variance_share", share, method="nested variance", group=group, condition=condition, runs=runs,
                    notes=tuple(n for n in notes if n),
                )
            )  # fmt: skip
    return tuple(out)
