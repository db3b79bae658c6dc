"""What is drawn of the surface: each field, its sizes, its arrangement."""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.pipeline.outcome import Exhibit

if TYPE_CHECKING:
    from halfcell.micrographs.evenness import Evenness
    from halfcell.micrographs.sizes import Sizes
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.made.field import Field

NM = 1e9


def field_exhibits(bench: Bench, electrode: str, field: Field) -> tuple[Exhibit, ...]:
    """The picture with outlines, and the arrangement, of one field."""
    common: dict[str, Any] = {
        "place": "Made",
        "electrode": electrode,
        "group": bench.study.group(electrode),
        "recordings": (field.file,),
    }
    name, found = PurePosixPath(field.file).name, field.found
    picture = Exhibit(
        kind="micrograph", key=f"micrograph | {field.file}", title=f"{electrode}: {name}",
        data={
            "pixels": field.picture, "shrink": field.shrink, "nm_per_pixel": field.metres_per_pixel * NM,
            "rows": found.rows, "columns": found.columns, "outline": found.outline, "first": found.first,
            "x": found.x, "y": found.y, "diameter": found.diameter, "contrast": found.contrast,
            "elongation": found.elongation, "confidence": found.confidence, "cut": found.cut, "group": found.group,
            "clump_outline": found.clump_outline, "clump_first": found.clump_first, "masks": field.masks,
            **_summary(field),
            "warnings": field.quality.warnings, "notes": field.notes, "bar_rows": field.bar_rows,
        },
        **common,
    )  # fmt: skip
    if field.evenness is None:
        return (picture,)
    return (picture, *_arrangement(field.evenness, field, electrode, name, common))


def _summary(field: Field) -> dict[str, Any]:
    """What the field gave, in the units in which it is said."""
    whole = field.diameter[field.whole > 0.5]
    whole_area = field.found.rows * field.found.columns * field.metres_per_pixel**2
    return {
        "masked_percent": 100 * max(1 - field.area / whole_area, 0.0) if field.masks else 0.0,
        "counted": field.number, "per_um2": field.number / (field.area * 1e12), "covered_percent": 100 * field.surface.coverage,
        "mean_nm": float(np.average(whole, weights=field.weight[field.whole > 0.5])) * NM if len(whole) else float("nan"),
        "agglomerates": field.found.clumps, "verdict": field.evenness.verdict if field.evenness is not None else "",
        "p": field.evenness.p if field.evenness is not None else float("nan"), "why_not_judged": field.why,
    }  # fmt: skip


def _arrangement(
    e: Evenness, field: Field, electrode: str, name: str, common: dict[str, Any]
) -> tuple[Exhibit, ...]:
    nm = field.metres_per_pixel * NM
    arrangement = Exhibit(
        kind="evenness", key=f"evenness | {field.file}", title=f"{electrode}: arrangement in {name}",
        data={
            "r_nm": e.r * nm, "l_minus_r_nm": e.l_minus_r * nm, "low_nm": e.low * nm, "middle_nm": e.middle * nm,
            "high_nm": e.high * nm, "nearest_nm": e.nearest * nm, "nearest_random_nm": e.nearest_random * nm,
            "verdict": e.verdict, "p": e.p, "ratio": e.ratio.value, "ratio_random": e.ratio_random, "level": e.level, "n": e.n,
        },
        **common,
    )  # fmt: skip
    density = Exhibit(
        kind="density map", key=f"density map | {field.file}", title=f"{electrode}: local density in {name}",
        data={
            "density": e.density, "dense": e.dense, "bare": e.bare, "width_nm": e.width * nm, "height_nm": e.height * nm,
            "x_nm": (field.found.x + 0.5 - field.guard) * nm, "y_nm": (field.found.y + 0.5 - field.guard) * nm, "share_dense": e.share_dense, "share_bare": e.share_bare,
        },
        **common,
    )  # fmt: skip
    return arrangement, density


def sizes_exhibit(bench: Bench, electrode: str, files: tuple[str, ...], described: Sizes) -> Exhibit:
    """The histogram of an electrode's sizes with the models fitted to it."""
    two = described.mixture
    data = {
        "diameter_nm": described.diameter * NM, "weight": described.weight, "mean_nm": described.mean.value * NM,
        "spread_nm": described.spread.value * NM, "log_median_nm": described.log_median.value * NM,
        "log_sigma": described.log_sigma.value, "model": described.model, "evidence": described.evidence, "n": described.n,
        "volume_mean_nm": described.volume_mean.value * NM,
    }  # fmt: skip
    if two is not None:
        data |= {"two_medians_nm": two.medians * NM, "two_sigmas": two.sigmas, "two_shares": two.shares}
    else:
        data |= {"two_medians_nm": np.empty(0), "two_sigmas": np.empty(0), "two_shares": np.empty(0)}
    return Exhibit(
        kind="sizes", key=f"sizes | {electrode}", title=f"{electrode}: particle sizes", place="Made",
        electrode=electrode, group=bench.study.group(electrode), recordings=files, data=data,
    )  # fmt: skip
