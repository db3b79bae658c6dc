"""The records of one electrode: each is columns in SI units, and the row it has in runs.csv."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from halfcell.demo import physics, plan

if TYPE_CHECKING:
    from halfcell.demo.plan import Made, Plan
    from halfcell.results import FloatArray

SPACING = 0.002
"""Potential between samples of a voltammogram, V."""
RESISTANCE = 140.0
START_VOLUME = 20e-6
STOCK = 10.0
"""mol/m³."""
FIRST_ADDITION, BETWEEN_ADDITIONS, RATE = 60.0, 45.0, 10.0
SAMPLED = (15.0, 20.0)
STEP_LENGTH, STEP_RATE = 20.0, 20.0
DEPOSITION_LENGTH = 30.0
CYCLE_FACTORS = (1.02, 1.0, 0.996, 0.993)
STEP_PLATEAU_NOISE = 1.5e-9
_WHITE, _SLOW = 4e-9, 3e-9
_STIRRED_WHITE, _STIRRED_SLOW, _STIRRED_MEMORY = 20e-9, 20e-9, 0.8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """One record: the end of its file's name, its columns, its row, and its addition log."""

    tail: str
    technique: str
    columns: dict[str, FloatArray]
    row: dict[str, str] = field(default_factory=dict)
    log: tuple[tuple[float, float], ...] = ()
    """(time in s, volume in m³) of each addition."""


def sign(made: Made) -> int:
    """+1 for an oxidation, −1 for a reduction."""
    return made.reaction.sign


def faradaic(made: Made, rate: float, concentration: float) -> FloatArray:
    """The analyte's current (n,) over one cycle in a fresh solution, A."""
    sweep = physics.triangle(made.material.start, made.material.turn, rate, SPACING, 1)
    area = made.material.area
    if made.transport:
        return physics.wave(made.reaction, sweep.potential, concentration, area, made.transport)
    return physics.diffusing(made.reaction, sweep.potential, sweep.spacing, concentration, area * made.share)


def voltammogram(
    made: Made,
    rng: np.random.Generator,
    *,
    rate: float,
    cycles: int,
    concentration: float = 0.0,
    air: bool = False,
) -> dict[str, FloatArray]:
    """Columns of a cyclic voltammogram. The layer at the electrode is renewed at the start of every cycle."""
    material = made.material
    sweep = physics.triangle(material.start, material.turn, rate, SPACING, cycles)
    time, potential = sweep.time, sweep.potential
    low, high = min(material.start, material.turn), max(material.start, material.turn)
    current = physics.charging(potential, sweep.spacing, made.capacitance * material.area, RESISTANCE)
    current += physics.window_ends(potential, low - 0.05, high + 0.05, 0.5e-6) + potential / 8e6
    current += sign(made) * 60e-9 * np.exp(-time * rate / 0.4)
    current += rng.normal(0, 2e-9) + rng.normal(0, 2e-9) * time / 60
    one = np.zeros((potential.size - 1) // cycles + 1)
    if concentration:
        one = one + faradaic(made, rate, concentration)
    if air and material.oxygen is not None:
        one = one + made.factor_of_oxygen * physics.diffusing(
            material.oxygen,
            potential[: one.size],
            sweep.spacing,
            plan.OXYGEN_IN_AIR,
            material.area * made.share,
        )
    factors = CYCLE_FACTORS[:cycles]
    current += np.concatenate([factors[0] * one] + [f * one[1:] for f in factors[1:]])
    current += physics.noise(rng, time.size, _WHITE, _SLOW)
    cycle = np.concatenate([[1], np.repeat(np.arange(1, cycles + 1), one.size - 1)])
    return {"time": time, "potential": potential, "current": current, "cycle": cycle.astype(float)}


def sensitivity(made: Made) -> float:
    """Slope of the stirred plateaus, A per mol/m³ (signed)."""
    material = made.material
    if made.transport:
        at = np.array([material.working])
        return float(physics.wave(made.reaction, at, 1.0, material.area, made.transport)[0])
    return physics.stirred_sensitivity(
        made.reaction, material.working, plan.LAYER, material.area * made.share
    )


def oxygen_current(made: Made) -> float:
    """What air adds to the stirred plateau, A (signed)."""
    material, extra = made.material, made.material.oxygen_offset * sensitivity(made)
    if material.oxygen is None:
        return extra
    slope = physics.stirred_sensitivity(
        material.oxygen, material.working, plan.LAYER, material.area * made.share
    )
    return extra + slope * plan.OXYGEN_IN_AIR * made.factor_of_oxygen


def additions(made: Made, rng: np.random.Generator, levels: tuple[float, ...], *, air: bool) -> Record:
    """A stirred record with successive additions, with its log."""
    material = made.material
    volumes, total, amount = [], START_VOLUME, 0.0
    for level in levels:
        volume = round((level * total - amount) / (STOCK - level) * 1e9, 1) * 1e-9
        amount, total = amount + STOCK * volume, total + volume
        volumes.append(volume)
    reached = np.concatenate([[0.0], STOCK * np.cumsum(volumes) / (START_VOLUME + np.cumsum(volumes))])
    noted = FIRST_ADDITION + BETWEEN_ADDITIONS * np.arange(len(levels))
    at = noted + rng.uniform(0.1, 0.9, noted.size)
    time = np.arange(1, round((noted[-1] + BETWEEN_ADDITIONS) * RATE) + 1) / RATE
    plateaus = sensitivity(made) * reached + rng.standard_normal(reached.size) * material.plateau_noise
    current = physics.approach(time, at, plateaus, plan.RESPONSE_TIME)
    for start in at:
        later = time >= start
        current[later] += rng.normal(0, 0.8e-6) * np.exp(-(time[later] - start) / 0.15)
    current += (
        sign(made) * material.background * (1 + 0.02 * np.exp(-time / 25)) + rng.normal(0, 2e-9) * time / 600
    )
    current += oxygen_current(made) if air else 0.0
    current += physics.noise(rng, time.size, _STIRRED_WHITE, _STIRRED_SLOW, _STIRRED_MEMORY)
    row = {"solution": "buffer-air" if air else "buffer", "step_potential": f"{material.working:g} V"}
    log = tuple(zip(noted.tolist(), volumes, strict=True))
    columns = {"time": time, "current": current}
    return Record(
        tail="additions_air" if air else "additions", technique="additions", columns=columns, row=row, log=log
    )


def plateau_scatter(made: Made) -> float:
    """Standard deviation of one plateau averaged over 25 s, A."""
    if made.material.stepped:
        return math.hypot(STEP_PLATEAU_NOISE, _WHITE / math.sqrt((SAMPLED[1] - SAMPLED[0]) * STEP_RATE))
    n = 25 * RATE
    slow = _STIRRED_SLOW * math.sqrt((1 + _STIRRED_MEMORY) / (1 - _STIRRED_MEMORY) / n)
    return math.hypot(made.material.plateau_noise, _STIRRED_WHITE / math.sqrt(n), slow)


def step(made: Made, rng: np.random.Generator, concentration: float) -> dict[str, FloatArray]:
    """Columns of a potential step in a quiet solution."""
    time = np.arange(1, round(STEP_LENGTH * STEP_RATE) + 1) / STEP_RATE
    reaction = made.reaction
    current = sign(made) * physics.cottrell(
        time, reaction.electrons, reaction.diffusion, concentration, made.material.area * made.share
    )
    current += sign(made) * (8e-6 * np.exp(-time / 0.12) + 30e-9) + rng.normal(0, STEP_PLATEAU_NOISE)
    current += physics.noise(rng, time.size, _WHITE, 0.0)
    return {"time": time, "current": current}


def sampled_sensitivity(made: Made) -> float:
    """Mean step current between the sampling times for 1 mol/m³, A."""
    time = np.arange(1, round(STEP_LENGTH * STEP_RATE) + 1) / STEP_RATE
    chosen = time[(time >= SAMPLED[0]) & (time <= SAMPLED[1])]
    reaction = made.reaction
    return sign(made) * float(
        physics.cottrell(
            chosen, reaction.electrons, reaction.diffusion, 1.0, made.material.area * made.share
        ).mean()
    )


def deposition(made: Made, rng: np.random.Generator, charge: float) -> dict[str, FloatArray]:
    """Columns of the deposition's current, which passes a charge (C, given positive) in all."""
    time = np.arange(0, round(DEPOSITION_LENGTH * 50) + 1) / 50
    start = 40e-6 * np.exp(-time / 0.05)
    growth = physics.growth_for(charge - 40e-6 * 0.05, DEPOSITION_LENGTH, 1.2 + 0.3 * float(rng.random()))
    current = -(start + growth.current(time)) + physics.noise(rng, time.size, 8e-9, 5e-9)
    return {"time": time, "current": current}


def records(
    made: Made, whole: Plan, number: int, rng: np.random.Generator, charge: float
) -> Iterator[Record]:
    """Every current record of an electrode, in the order they are taken."""
    material = made.material
    if material.metal is not None and charge > 0:
        yield Record(tail="deposition", technique="deposition", columns=deposition(made, rng, charge))
    studied = material.role == "candidate" and number <= whole.studied
    for rate in sorted({*whole.blank_rates, *(whole.study_rates if studied else ())}):
        columns = voltammogram(made, rng, rate=rate, cycles=2)
        yield _cv(f"cv_blank_{rate * 1e3:g}mVs", columns, rate, "0 mol/L", "buffer")
    yield _cv(
        "cv_1mM_50mVs",
        voltammogram(made, rng, rate=0.05, cycles=whole.cycles, concentration=1.0),
        0.05,
        "1 mmol/L",
        "buffer",
    )
    if material.role == "candidate":
        if studied:
            for rate in whole.study_rates:
                columns = voltammogram(made, rng, rate=rate, cycles=2, concentration=1.0)
                yield _cv(f"cv_1mM_{rate * 1e3:g}mVs", columns, rate, "1 mmol/L", "buffer")
        columns = voltammogram(made, rng, rate=0.05, cycles=2, air=True)
        yield _cv("cv_air_blank_50mVs", columns, 0.05, "0 mol/L", "buffer-air")
    if material.stepped:
        for level in whole.step_levels:
            row = {
                "solution": "buffer",
                "concentration": f"{level * 1e3:g} umol/L",
                "step_potential": f"{material.working:g} V",
            }
            yield Record(
                tail=f"step_{level * 1e3:g}uM",
                technique="potential step",
                columns=step(made, rng, level),
                row=row,
            )
        return
    for air in (False, True) if material.role == "candidate" else (False,):
        yield additions(made, rng, whole.levels, air=air)


def _cv(tail: str, columns: dict[str, FloatArray], rate: float, concentration: str, solution: str) -> Record:
    row = {"solution": solution, "concentration": concentration, "scan_rate": f"{rate * 1e3:g} mV/s"}
    return Record(tail=tail, technique="cyclic voltammogram", columns=columns, row=row)
