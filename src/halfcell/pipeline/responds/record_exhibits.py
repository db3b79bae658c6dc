"""Exhibits of single records and of the materials over each other."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from halfcell.pipeline.outcome import Exhibit

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.responds.pairing import Pair
    from halfcell.pipeline.responds.voltammogram import BranchFit, Voltammogram


def record_exhibit(bench: Bench, pair: Pair, result: Voltammogram, fit: BranchFit) -> Exhibit:
    """Raw trace, blank, difference, baseline and the construction of the peak. V and A."""
    data: dict[str, Any] = {
        "raw_potential": result.raw.potential,
        "raw_current": result.raw.current,
        "direction": fit.direction,
        "technique": pair.run.technique,
        "reference_electrode": bench.study.file.reference_electrode,
        "reason": fit.refused,
        "units": {"potential": "V", "current": "A"},
    }
    if result.raw_blank is not None:
        data |= {"blank_potential": result.raw_blank.potential, "blank_current": result.raw_blank.current}
    shown = fit.difference or fit.sample
    data |= {"potential": shown.potential, "current": shown.current, "subtracted": fit.difference is not None}
    response = fit.response
    if response is not None:
        data |= {
            "word": response.word,
            "none": response.none,
            "wave": response.wave,
            "peak": response.peak,
            "fit_potential": response.potential,
            "fit_current": response.fit + response.background,
            "fit_background": response.background,
            "definition": response.definition.value,
            "definition_u": response.definition.u,
        }
    if fit.peak is not None:
        data |= _peak(fit)
    return Exhibit(
        kind="voltammogram",
        key=f"voltammogram {pair.run.electrode} {pair.condition}",
        title=f"{pair.run.electrode}, {pair.condition}",
        place="Responds",
        electrode=pair.run.electrode,
        group=bench.study.group(pair.run.electrode),
        condition=pair.condition,
        recordings=tuple(r.file for r in (pair.run, pair.blank) if r is not None),
        data=data,
    )


def _peak(fit: BranchFit) -> dict[str, Any]:
    from halfcell.pipeline.responds.traces import thin

    peak = fit.peak
    assert peak is not None
    base = thin(peak.axis, peak.baseline.values)
    return {
        "baseline_potential": base.potential,
        "baseline_current": base.current,
        "baseline_kind": peak.baseline.kind,
        "baseline_windows": [list(w) for w in peak.baseline.windows],
        "peak_potential": peak.potential.value,
        "peak_potential_u": peak.potential.u,
        "peak_current": peak.current.value,
        "peak_current_u": peak.current.u,
        "half_potential": peak.half_potential.value,
        "onset": peak.onset.value,
        "signal_to_noise": peak.signal_to_noise.value,
    }


def overlays(bench: Bench, shown: list[tuple[Pair, Voltammogram, BranchFit]]) -> list[Exhibit]:
    """The response of all electrodes, per area: one line an electrode, one colour a material."""
    if not shown:
        return []
    lines = []
    for pair, _, fit in shown:
        trace = fit.difference or fit.sample
        area = bench.study.electrode(pair.run.electrode).area
        lines.append(
            {
                "electrode": pair.run.electrode,
                "group": bench.study.group(pair.run.electrode),
                "role": bench.study.electrode(pair.run.electrode).role,
                "word": fit.response.word if fit.response else "",
                "potential": trace.potential,
                "density": trace.current / area,
            }
        )
    by_direction: dict[int, list[Any]] = defaultdict(list)
    for (_, _, fit), line in zip(shown, lines, strict=True):
        by_direction[fit.direction].append(line)
    return [
        Exhibit(
            kind="responses",
            key=f"responses {'anodic' if d > 0 else 'cathodic'}",
            title=f"{'Oxidations' if d > 0 else 'Reductions'}: current less that of the blank, per geometric area",
            place="Responds",
            condition=shown[0][0].condition,
            recordings=tuple(p.run.file for p, _, f in shown if f.direction == d),
            data={
                "lines": of,
                "direction": d,
                "reference_electrode": bench.study.file.reference_electrode,
                "units": {"potential": "V", "density": "A/m^2"},
            },
        )
        for d, of in sorted(by_direction.items(), reverse=True)
        if of and all(math.isfinite(float(x["density"].max())) for x in of)
    ]
