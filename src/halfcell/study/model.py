"""The study file, format 1: what is asked, what was made, and how to analyse it.

Every key a person may write is a field here or in a ``settings_*`` module beside; its description is the
text of docs/study-folder.md. A row of runs.csv is a ``Run``.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part
from halfcell.study.settings_amperometry import AmperometrySettings, CalibrationSettings
from halfcell.study.settings_choice import ChoiceSettings, ComparisonSettings
from halfcell.study.settings_micrographs import MicrographSettings
from halfcell.study.settings_voltammetry import VoltammetrySettings

Technique = Literal[
    "cyclic voltammogram",
    "linear sweep",
    "differential pulse",
    "square wave",
    "potential step",
    "additions",
    "deposition",
    "micrograph",
]


class Solution(Part):
    """What a record was taken in."""

    description: str = Field("", examples=["0.1 mol/L phosphate buffer, bubbled with nitrogen"], description="In words.")  # fmt: skip
    oxygen: Literal["removed", "air", "stated", ""] = Field("", description="Whether dissolved oxygen was removed, in equilibrium with air, or at the stated level `oxygen_concentration`.")  # fmt: skip
    oxygen_concentration: q.Concentration | None = Field(None, description="Dissolved oxygen where `oxygen` is \"stated\".")  # fmt: skip
    ph: float | None = Field(None, ge=-2, le=16, examples=[7.0], description="pH, for potentials against the reversible hydrogen electrode.")  # fmt: skip
    confounder: str = Field("", examples=["oxygen"], description="Name of another species present, as in `[confounders.NAME]`.")  # fmt: skip
    confounder_concentration: q.Concentration | None = Field(None, description="Its concentration.")
    probe: str = Field("", examples=["hexaammineruthenium(III)"], description="Name of an outer-sphere probe couple this solution is for: its runs give the area a diffusing probe sees, `concentration` of a run is the probe's, and none of them counts as analyte or blank.")  # fmt: skip
    probe_electrons: int = Field(1, ge=1, le=4, description="Electrons per probe molecule.")
    probe_diffusion_coefficient: q.Diffusivity | None = Field(None, description="Diffusion coefficient of the probe in this solution and at this temperature; without it no area is found.")  # fmt: skip
    probe_diffusion_uncertainty: float | None = Field(None, ge=0, lt=1, examples=[0.05], description="Relative standard uncertainty of that diffusion coefficient.")  # fmt: skip


class Electrode(Part):
    """One electrode that was made, and its recipe."""

    material: str = Field(
        examples=["nickel"], description="The metal or other modifier; the bare substrate has its own name."
    )
    role: Literal["candidate", "bare", "control", "bulk"] = Field("candidate", description="candidate: may be chosen; bare: the unmodified substrate; control: a variant that leaves out a step; bulk: a solid piece of the metal.")  # fmt: skip
    recipe: str = Field("", examples=["seeded 60 s, plated 30 s"], description="Name of the recipe, free text.")  # fmt: skip
    batch: str = Field("", examples=["A"], description="The batch it was made in.")
    area: q.Area = Field(description="Geometric area.")
    factors: dict[str, bool] = Field(default_factory=dict, examples=["{ seeding = true, plating = false }"], description="Steps of the recipe done (true) or left out (false), for the control study.")  # fmt: skip
    attributes: dict[str, str] = Field(default_factory=dict, examples=['{ operator = "second hand" }'], description="Anything else to compare by.")  # fmt: skip
    deposition_charge: q.Charge | None = Field(None, description="Charge passed to deposit the metal.")
    deposition_electrons: int | None = Field(None, ge=1, examples=[2], description="Electrons per metal atom deposited.")  # fmt: skip
    current_efficiency: float | None = Field(None, gt=0, le=1, examples=[0.85], description="Share of the deposition charge that made metal, when known.")  # fmt: skip
    molar_mass: q.MolarMass | None = Field(None, description="Molar mass of the metal.")
    density: q.Density | None = Field(None, description="Density of the metal.")
    resistance: q.Resistance | None = Field(None, description="Uncompensated resistance, for the ohmic-drop correction.")  # fmt: skip


class Confounder(Part):
    """A species that the sensor could mistake for the analyte."""

    level: q.Concentration = Field(description="The level expected in real samples, at which the false concentration is stated.")  # fmt: skip
    made_from_analyte: bool = Field(False, description="Whether the analyte itself can form this species at the electrode (oxygen from hydrogen peroxide, say).")  # fmt: skip


class ReaderSettings(Part):
    """How to read exports that cannot be understood by themselves."""

    files: str = Field("*", examples=["ni_*.txt"], description="Which files, as a pattern on the name (`ni_*.txt`).")  # fmt: skip
    reader: str = Field("", description="Name of the reader; empty: found by looking at the file.")
    columns: dict[str, int | str] = Field(default_factory=dict, examples=['{ potential = 1, current = "I/uA" }'], description="Role (time, potential, current, cycle, forward, backward) to column: number from 1, or the heading; 0 where the file holds none that shall be used.")  # fmt: skip
    units: dict[str, str] = Field(
        default_factory=dict, description='Role to unit, such as `potential = "mV"`.'
    )
    delimiter: str = Field("", examples=[";"], description="`,`, `;`, `tab` or `space`.")
    decimal: str = Field("", examples=[","], description="`.` or `,`.")
    skip: int | None = Field(None, ge=0, examples=[12], description="Lines above the first row of numbers.")
    encoding: str = Field("", examples=["latin-1"], description="Such as `latin-1`.")


class AnalysisSettings(Part):
    """Settings of the methods."""

    confidence: float = Field(0.95, gt=0.5, lt=1, description="Confidence level of every interval and test.")
    seed: int = Field(20250101, ge=0, description="Seed of every resampling.")
    voltammetry: VoltammetrySettings = VoltammetrySettings()
    amperometry: AmperometrySettings = AmperometrySettings()
    calibration: CalibrationSettings = CalibrationSettings()
    micrographs: MicrographSettings = MicrographSettings()


class StudyFile(Part):
    """The whole of study.toml."""

    format: Literal[1] = Field(description="Version of this format.")
    title: str = Field("", examples=["Which metal for nitrite in pond water?"], description="A line that says what the study is.")  # fmt: skip
    analyte: str = Field(examples=["nitrite"], description="What is to be sensed.")
    reference_electrode: str = Field(examples=["Ag/AgCl, 3 M KCl"], description="The reference electrode potentials are stated against, such as \"Ag/AgCl, 3 M KCl\".")  # fmt: skip
    oxidation_current: Literal["positive", "negative"] = Field("positive", description="Sign of an oxidation current in the exports.")  # fmt: skip
    temperature: q.Temperature = Field(298.15, description="Temperature of the measurements.")
    electrons: int | None = Field(None, ge=1, le=8, examples=[2], description="Electrons per analyte molecule, when known.")  # fmt: skip
    diffusion_coefficient: q.Diffusivity | None = Field(None, description="Diffusion coefficient of the analyte, when known.")  # fmt: skip
    group_by: str = Field("material", description="Electrode attribute that makes the groups to compare.")
    solutions: dict[str, Solution] = Field(default_factory=dict)
    electrodes: dict[str, Electrode] = Field(default_factory=dict)
    confounders: dict[str, Confounder] = Field(default_factory=dict)
    analysis: AnalysisSettings = AnalysisSettings()
    comparison: ComparisonSettings = ComparisonSettings()
    choice: ChoiceSettings = ChoiceSettings()
    readers: dict[str, ReaderSettings] = Field(default_factory=dict)


class Run(Part):
    """One row of runs.csv: one file and how it was taken."""

    file: str = Field(
        examples=["data/ni1_50mVs.csv"],
        description="Path inside the study folder, such as data/ni1_50mVs.csv.",
    )
    electrode: str = Field(examples=["Ni-1"], description="A name in `[electrodes]`.")
    technique: Technique = Field(description="Kind of record.")
    solution: str = Field("", examples=["buffer"], description="A name in `[solutions]`; not needed for micrographs and deposition.")  # fmt: skip
    concentration: q.Concentration | None = Field(None, description="Analyte in the solution; empty or \"0 mol/L\" for a blank.")  # fmt: skip
    scan_rate: q.ScanRate | None = Field(None, description="Stated scan rate; checked against the data.")
    order: int | None = Field(None, description="Order in which records were taken on the electrode.")
    cycle: int | None = Field(None, ge=1, description="Cycle to use; empty: the stable one is found.")
    scale: q.Length | None = Field(None, description='Length of one pixel of a micrograph, such as "1.5 nm".')
    log: str = Field("", examples=["data/ni1_additions_log.csv"], description="Addition log: a CSV file inside the folder with time, volume, concentration of the added solution.")  # fmt: skip
    step_potential: q.Potential | None = Field(None, description="Potential of the step or of the stirred measurement, for a file that holds none.")  # fmt: skip
    pulse: q.Potential | None = Field(None, description="Pulse height of a pulse record.")
    exposure: q.Duration | None = Field(None, description="Time in use before this record, for stability.")
    age: q.Duration | None = Field(None, description="Time in storage before this record.")
    sample: str = Field("", examples=["pond 3"], description="Name of an unknown sample to be quantified.")
    spike: q.Concentration | None = Field(None, description="Analyte added to the sample, for recovery and standard addition.")  # fmt: skip
    note: str = Field("", examples=["stirred"], description="Free text.")
    guessed: str = Field("", description="What was guessed in this row and from what; written by intake, emptied by the person who has checked it. Never analysed.")  # fmt: skip
