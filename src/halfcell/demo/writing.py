"""Write the invented study into a folder, and say what is true of it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY
from halfcell.demo import folder as texts
from halfcell.demo import images, physics, records
from halfcell.demo.exports import ENDINGS, STYLES
from halfcell.demo.plan import RESPONSE_TIME, Made, Plan, full_plan, make, small_plan
from halfcell.demo.truth import ElectrodeTruth, Truth
from halfcell.errors import HalfcellError

if TYPE_CHECKING:
    from collections.abc import Sequence

NOTE = "invented"


def write(
    folder: str | Path,
    *,
    seed: int = 20250101,
    small: bool = False,
    truth: str | Path | None = None,
    plan: Plan | None = None,
) -> Truth:
    """Write the demo study: nitrite in aquaculture water on four metals, wholly invented.

    ``small`` writes two metals and the bare substrate only; another ``plan`` may be given. The truth
    is returned, and stored as JSON at ``truth`` if a path is given; it is never put in the folder.
    Raises HalfcellError when the folder already holds a study.
    """
    root = Path(folder)
    if (root / "study.toml").exists():
        raise HalfcellError(
            f"{root} already holds a study (study.toml); choose another folder, such as {root!s}-2."
        )
    whole = plan or (small_plan() if small else full_plan())
    (root / "data").mkdir(parents=True, exist_ok=True)
    everything: list[Made] = []
    truths: dict[str, ElectrodeTruth] = {}
    rows: list[dict[str, str]] = []
    charges: dict[str, float] = {}
    streams = iter(np.random.SeedSequence(seed).spawn(sum(count for _, count in whole.materials)))
    for material, count in whole.materials:
        for number in range(1, count + 1):
            rng = np.random.default_rng(next(streams))
            made = make(material, number, rng)
            everything.append(made)
            fields = _write_images(root, made, whole, rng, rows)
            charge = _charge(made, rng)
            if charge > 0 and material.prefix == "Cu":
                charges[made.name] = charge
            _write_records(root, made, whole, number, rng, charge, rows)
            truths[made.name] = _truth_of(made, whole, fields, charge)
    (root / "study.toml").write_text(
        texts.study_toml(everything, charges, whole), encoding="utf-8", newline="\n"
    )
    (root / "runs.csv").write_text(texts.runs_csv(rows), encoding="utf-8", newline="\n")
    known = _conclusions(everything, truths, len(rows))
    if truth is not None:
        known.save(truth)
    return known


def _write_images(
    root: Path, made: Made, whole: Plan, rng: np.random.Generator, rows: list[dict[str, str]]
) -> list[images.Field]:
    if made.particles is None:
        return []
    kind = made.material.images
    fields = []
    for number in range(1, whole.fields + 1):
        drawn = images.draw(made.particles, whole.image_shape, whole.pixel, rng)
        path = f"images/{made.name}_field{number}.{'tif' if kind.startswith('tiff') else 'png'}"
        images.save(drawn, root / path, kind, whole.pixel)
        scale = "" if kind.startswith("tiff") else f"{whole.pixel * 1e9:g} nm"
        rows.append(
            {"file": path, "electrode": made.name, "technique": "micrograph", "scale": scale, "note": NOTE}
        )
        fields.append(drawn)
    return fields


def _charge(made: Made, rng: np.random.Generator) -> float:
    """The deposition charge (C) that pays for the electrode's particles as hemispheres."""
    if made.particles is None or made.material.metal is None:
        return 0.0
    metal = made.material.metal
    mass = _volume_per_area(made) * metal.density * made.material.area
    amount = mass / metal.molar_mass
    return float(
        amount * metal.electrons * FARADAY / made.efficiency * math.exp(0.02 * rng.standard_normal())
    )


def _volume_per_area(made: Made) -> float:
    """Metal volume over geometric area (m) expected of the electrode's particles."""
    particles = made.particles
    assert particles is not None
    third = particles.diameter**3 * (1 + particles.spread**2) ** 3
    third *= 1 + particles.second * (1.9**3 - 1)
    return particles.density * math.pi / 12 * third


def _write_records(
    root: Path,
    made: Made,
    whole: Plan,
    number: int,
    rng: np.random.Generator,
    charge: float,
    rows: list[dict[str, str]],
) -> None:
    material = made.material
    for order, record in enumerate(records.records(made, whole, number, rng, charge), start=1):
        path = f"data/{made.name}_{record.tail}.{ENDINGS[material.style]}"
        (root / path).write_bytes(STYLES[material.style](record.columns, material.area))
        row = {
            "file": path,
            "electrode": made.name,
            "technique": record.technique,
            "order": str(order),
            "note": NOTE,
            **record.row,
        }
        if record.log:
            row["log"] = f"data/{made.name}_{record.tail}_log.csv"
            (root / row["log"]).write_text(texts.log_csv(record.log), encoding="utf-8", newline="\n")
        rows.append(row)


def _truth_of(made: Made, whole: Plan, fields: Sequence[images.Field], charge: float) -> ElectrodeTruth:
    material = made.material
    one = records.faradaic(made, 0.05, 1.0)
    potential = physics.triangle(material.start, material.turn, 0.05, records.SPACING, 1).potential
    top = int(np.argmax(np.abs(one)))
    slope = records.sampled_sensitivity(made) if material.stepped else records.sensitivity(made)
    scatter = records.plateau_scatter(made)
    peak = material.response == "peak"
    factors = records.CYCLE_FACTORS[: whole.cycles]
    diameters = np.concatenate([f.diameter for f in fields]) if fields else np.empty(0)
    frame = len(fields) * whole.image_shape[0] * whole.image_shape[1] * whole.pixel**2
    return ElectrodeTruth(
        material=material.name,
        role=material.role,
        area=material.area,
        response_class=material.response,
        capacitance=made.capacitance,
        peak_current=tuple(f * float(one[top]) for f in factors) if peak else (),
        peak_potential=tuple(float(potential[top]) for _ in factors) if peak else (),
        scan_rate_exponent=0.5 if peak else None,
        sensitivity=slope,
        sampled_from=records.SAMPLED[0] if material.stepped else None,
        sampled_to=records.SAMPLED[1] if material.stepped else None,
        response_time=None if material.stepped else RESPONSE_TIME,
        plateau_scatter=scatter,
        limit_of_detection=3.3 * scatter / abs(slope) if 3.3 * scatter / abs(slope) < 0.1 else None,
        false_concentration=records.oxygen_current(made) / slope if material.role == "candidate" else None,
        deposition_charge=charge or None,
        metal_mass_per_area=_volume_per_area(made) * material.metal.density
        if fields and material.metal
        else None,
        particle_diameter=float(diameters.mean()) if fields else None,
        size_spread=float(diameters.std(ddof=1) / diameters.mean()) if fields else None,
        particle_density=diameters.size / frame if fields else None,
        coverage=float(np.mean([f.covered for f in fields])) if fields else None,
        particles=int(diameters.size) if fields else None,
        evenness=made.particles.arrangement if fields and made.particles else "",
    )


def _conclusions(everything: Sequence[Made], truths: dict[str, ElectrodeTruth], files: int) -> Truth:
    materials = {one.material.name for one in everything}
    eliminated: dict[str, str] = {m: "oxygen" for m in ("copper", "rhodium") if m in materials}
    controls = any(one.material.role == "control" for one in everything)
    return Truth(
        electrodes=truths,
        winner="nickel",
        runner_up="ruthenium" if "ruthenium" in materials else "",
        eliminated=eliminated,
        both_steps_needed=True if controls else None,
        files=files,
    )
