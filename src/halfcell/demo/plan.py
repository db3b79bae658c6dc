"""The invented study: which materials, which electrodes, and what is true of them on average.

Magnitudes are those usual in the trade (common practice, no source): printed disks of 3 mm, double
layers of tens of µF/cm², microamperes for a millimole per litre, particles of some tens of nanometres.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from halfcell.demo.physics import Reaction

PRINTED_AREA = 0.0707e-4
DISC_AREA = 0.0314e-4
NITRITE_DIFFUSION = 1.9e-9
OXYGEN_DIFFUSION = 2.0e-9
OXYGEN_IN_AIR = 0.258
"""mol/m³, the level the study states for water in equilibrium with air at 25 °C."""
LAYER = 45e-6
"""Thickness in m of the layer without convection when the solution is stirred."""
RESPONSE_TIME = 2.5
"""t90 in s of a stirred electrode after an addition."""


def oxidation(potential: float, transfer: float = 0.5) -> Reaction:
    """Nitrite to nitrate, two electrons."""
    return Reaction(sign=1, electrons=2, transfer=transfer, potential=potential, diffusion=NITRITE_DIFFUSION)


def reduction(potential: float, transfer: float = 0.5) -> Reaction:
    """Nitrite to nitrous oxide, two electrons a nitrite."""
    return Reaction(sign=-1, electrons=2, transfer=transfer, potential=potential, diffusion=NITRITE_DIFFUSION)


def oxygen(potential: float) -> Reaction:
    """Dissolved oxygen to water, four electrons."""
    return Reaction(sign=-1, electrons=4, transfer=0.5, potential=potential, diffusion=OXYGEN_DIFFUSION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Particles:
    """The particles of a material: mean diameter (m), relative spread, number per m², arrangement."""

    diameter: float
    spread: float
    density: float
    arrangement: Literal["even", "random", "clustered"]
    second: float = 0.0
    """Share of a second, larger kind (1.9 times the diameter)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """A metal's data for Faraday's law."""

    electrons: int
    molar_mass: float
    density: float
    efficiency: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material of the study and what is true of it on average."""

    name: str
    prefix: str
    style: str
    reaction: Reaction
    share: float
    """Share of the geometric area that a diffusing molecule sees as active."""
    capacitance: float
    """F/m²."""
    start: float
    turn: float
    working: float
    """Potential of the stirred measurement or of the step, V."""
    plateau_noise: float
    """Scatter of a plateau that averaging over its samples does not remove, A."""
    role: Literal["candidate", "bare", "control", "bulk"] = "candidate"
    area: float = PRINTED_AREA
    response: Literal["none", "wave", "peak"] = "peak"
    transport: float = 0.0
    """Mass-transfer coefficient in m/s over the geometric area of sparse active points; 0: planar."""
    oxygen: Reaction | None = None
    oxygen_offset: float = 0.0
    """What else air adds to the plateau, as mol/m³ of analyte."""
    particles: Particles | None = None
    metal: Metal | None = None
    recipe: str = ""
    factors: dict[str, bool] = field(default_factory=dict)
    images: str = ""
    """Kind of image file."""
    background: float = 0.25e-6
    stepped: bool = False


NICKEL = Metal(electrons=2, molar_mass=58.693e-3, density=8908.0, efficiency=0.80)
COPPER = Metal(electrons=2, molar_mass=63.546e-3, density=8960.0, efficiency=0.92)
RHODIUM = Metal(electrons=3, molar_mass=102.906e-3, density=12410.0, efficiency=0.75)
RUTHENIUM = Metal(electrons=3, molar_mass=101.07e-3, density=12370.0, efficiency=0.70)

_TWO_STEPS = "seeded 60 s in 5 mmol/L reducing agent, then held 30 s in the metal salt"
_NI = Material(
    name="nickel", prefix="Ni", style="tabs", reaction=oxidation(0.66), share=0.85, capacitance=0.70,
    start=0.10, turn=1.15, working=0.85, plateau_noise=12e-9, oxygen_offset=0.0008, metal=NICKEL, recipe=_TWO_STEPS,
    factors={"seeding": True, "electrodeposition": True}, images="tiff16",
    particles=Particles(diameter=46e-9, spread=0.18, density=70e12, arrangement="even"),
)  # fmt: skip
CANDIDATES = (
    Material(
        name="copper", prefix="Cu", style="comma decimals", reaction=reduction(-0.42), share=0.60, capacitance=0.62,
        start=0.10, turn=-0.90, working=-0.65, plateau_noise=40e-9, oxygen=oxygen(-0.34), metal=COPPER, recipe=_TWO_STEPS,
        images="png bar", particles=Particles(diameter=50e-9, spread=0.22, density=45e12, arrangement="clustered", second=0.25),
    ),
    Material(
        name="rhodium", prefix="Rh", style="units row", reaction=reduction(-0.30), share=1.0, capacitance=0.88,
        start=0.20, turn=-0.80, working=-0.55, plateau_noise=25e-9, oxygen=oxygen(-0.22), metal=RHODIUM, recipe=_TWO_STEPS,
        images="tiff16 bar", particles=Particles(diameter=38e-9, spread=0.28, density=80e12, arrangement="random"),
    ),
    _NI,
    Material(
        name="ruthenium", prefix="Ru", style="bare numbers", reaction=oxidation(0.74), share=0.62, capacitance=1.35,
        start=0.10, turn=1.15, working=0.92, plateau_noise=28e-9, oxygen_offset=0.0012, metal=RUTHENIUM, recipe=_TWO_STEPS,
        images="png", particles=Particles(diameter=58e-9, spread=0.33, density=40e12, arrangement="random"),
    ),
)  # fmt: skip
BARE = Material(
    name="bare carbon", prefix="SPC", style="blocks", role="bare", response="wave", reaction=oxidation(1.30, 0.3), share=1.0,
    capacitance=0.36, start=0.10, turn=1.15, working=0.85, plateau_noise=10e-9, recipe="rinsed",
)  # fmt: skip
CONTROLS = (
    replace(
        _NI, name="nickel, neither step", prefix="Ni-treated", role="control", response="wave", reaction=oxidation(1.34, 0.3),
        share=1.0, capacitance=0.40, particles=None, metal=None, oxygen_offset=0.0, recipe="through all baths without reagent or current",
        factors={"seeding": False, "electrodeposition": False},
    ),
    replace(
        _NI, name="nickel, seeded only", prefix="Ni-seeded", role="control", response="wave", reaction=oxidation(0.72),
        transport=3.0e-6, share=1.0, capacitance=0.46, metal=None, oxygen_offset=0.0, recipe="seeded 60 s, no electrodeposition",
        factors={"seeding": True, "electrodeposition": False},
        particles=Particles(diameter=21e-9, spread=0.25, density=25e12, arrangement="random"),
    ),
    replace(
        _NI, name="nickel, deposited only", prefix="Ni-plated", role="control", reaction=oxidation(0.72, 0.4), share=0.20,
        capacitance=0.55, oxygen_offset=0.0, recipe="held 30 s in the metal salt, not seeded",
        factors={"seeding": False, "electrodeposition": True},
        particles=Particles(diameter=60e-9, spread=0.35, density=14e12, arrangement="clustered"),
    ),
)  # fmt: skip
DISC = replace(
    _NI, name="nickel disc", prefix="Ni-disc", style="cut short", role="bulk", reaction=oxidation(0.74), share=0.5, area=DISC_AREA,
    capacitance=0.32, particles=None, metal=None, oxygen_offset=0.0, factors={}, recipe="solid disc, polished", stepped=True,
    working=0.95,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How much is made and measured."""

    materials: tuple[tuple[Material, int], ...]
    blank_rates: tuple[float, ...] = (0.025, 0.05, 0.1, 0.2)
    study_rates: tuple[float, ...] = (0.01, 0.025, 0.1, 0.2)
    studied: int = 2
    """Electrodes of each material with a scan-rate study in analyte, beside 50 mV/s."""
    cycles: int = 3
    fields: int = 3
    image_shape: tuple[int, int] = (768, 1024)
    pixel: float = 1.5e-9
    levels: tuple[float, ...] = (0.005, 0.010, 0.020, 0.035, 0.050, 0.075, 0.100, 0.150)
    """Nominal concentrations in mol/m³ after each addition."""
    step_levels: tuple[float, ...] = (0.0, 0.025, 0.05, 0.1, 0.2, 0.4)


def full_plan() -> Plan:
    """The whole study."""
    return Plan(materials=(*((m, 4) for m in CANDIDATES), (BARE, 3), *((m, 3) for m in CONTROLS), (DISC, 2)))


def small_plan() -> Plan:
    """Two metals, three electrodes each, and the bare substrate: for tests."""
    copper, _, nickel, _ = CANDIDATES
    return Plan(
        materials=((copper, 3), (nickel, 3), (BARE, 3)), studied=1, cycles=2, fields=2, image_shape=(480, 640),
        study_rates=(0.025, 0.1, 0.2), levels=(0.010, 0.020, 0.035, 0.050, 0.075, 0.100),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """One electrode with its own scatter."""

    name: str
    material: Material
    share: float
    capacitance: float
    reaction: Reaction
    transport: float
    particles: Particles | None
    factor_of_oxygen: float
    efficiency: float


def make(material: Material, number: int, rng: np.random.Generator) -> Made:
    """An electrode of a material: a share, a double layer, a potential and a size of its own."""
    scatter = np.exp(rng.standard_normal(6) * [0.06, 0.07, 0.0, 0.025, 0.06, 0.05])
    reaction = replace(
        material.reaction, potential=material.reaction.potential + 0.004 * float(rng.standard_normal())
    )
    particles = material.particles
    if particles is not None:
        particles = replace(
            particles,
            diameter=particles.diameter * float(scatter[3]),
            density=particles.density * float(scatter[4]),
        )
    return Made(
        name=f"{material.prefix}-{number}",
        material=material,
        share=material.share * float(scatter[0]),
        capacitance=material.capacitance * float(scatter[1]),
        reaction=reaction,
        transport=material.transport * float(scatter[0]),
        particles=particles,
        factor_of_oxygen=float(scatter[5]),
        efficiency=0.0 if material.metal is None else material.metal.efficiency,
    )
