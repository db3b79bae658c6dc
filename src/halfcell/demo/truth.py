"""What is true of an invented study: known to the generator, never read by the analysis."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeTruth:
    """What is true of one electrode, in SI units; None where nothing of the kind was measured.

    ``peak_current`` and ``peak_potential`` are those of each cycle of the 1 mmol/L voltammogram at
    50 mV/s. ``sensitivity`` is the slope of the stirred plateaus, or of the mean current between
    ``sampled_from`` and ``sampled_to`` after a step, signed with oxidation positive.
    ``plateau_scatter`` is the standard deviation of a plateau (A), so that the limit of detection
    by 3.3 standard deviations is 3.3·plateau_scatter/|sensitivity| (None above 0.1 mol/m³, where the
    sensitivity is lost in the scatter).
    """

    material: str
    role: str
    area: float
    response_class: str
    capacitance: float
    peak_current: tuple[float, ...] = ()
    peak_potential: tuple[float, ...] = ()
    scan_rate_exponent: float | None = None
    sensitivity: float | None = None
    sampled_from: float | None = None
    sampled_to: float | None = None
    response_time: float | None = None
    plateau_scatter: float | None = None
    limit_of_detection: float | None = None
    false_concentration: float | None = None
    """Of dissolved oxygen in equilibrium with air, mol/m³ of analyte (signed)."""
    deposition_charge: float | None = None
    metal_mass_per_area: float | None = None
    particle_diameter: float | None = None
    """Mean over the particles drawn whose centres lie in the frames."""
    size_spread: float | None = None
    particle_density: float | None = None
    coverage: float | None = None
    particles: int | None = None
    evenness: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What is true of the study: its electrodes and what a right analysis concludes."""

    electrodes: dict[str, ElectrodeTruth]
    winner: str
    runner_up: str
    eliminated: dict[str, str] = field(default_factory=dict)
    """Material to the condition or finding of the must that it fails."""
    both_steps_needed: bool | None = None
    files: int = 0

    def save(self, path: str | Path) -> None:
        """Write as JSON."""
        Path(path).write_text(json.dumps(asdict(self), indent=1) + "\n", encoding="utf-8")

    @classmethod
    def load(cls, path: str | Path) -> Truth:
        """Read what ``save`` wrote."""
        kept = json.loads(Path(path).read_text(encoding="utf-8"))
        electrodes = {name: _electrode(values) for name, values in kept.pop("electrodes").items()}
        return cls(electrodes=electrodes, **kept)


def _electrode(values: dict[str, Any]) -> ElectrodeTruth:
    known: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in values.items()}
    return ElectrodeTruth(**known)
