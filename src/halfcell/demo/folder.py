"""study.toml and runs.csv of the invented study."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from halfcell.demo import plan, records

if TYPE_CHECKING:
    from halfcell.demo.plan import Made, Plan

FIRST_LINE = "# The data in this folder are invented."
_HEAD = f"""{FIRST_LINE}
# They are computed from a physical model with noise; no water was sampled and no electrode was made.

format = 1
title = "Which metal on printed carbon for nitrite in aquaculture water? (invented)"
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"
oxidation_current = "positive"
temperature = "25 degC"
diffusion_coefficient = "1.9e-5 cm^2/s"
electrons = 2
group_by = "material"

[solutions.buffer]
description = "0.1 mol/L phosphate buffer, bubbled with nitrogen"
oxygen = "removed"
ph = 7.0

[solutions.buffer-air]
description = "0.1 mol/L phosphate buffer, in equilibrium with air"
oxygen = "air"
ph = 7.0

# The level of dissolved oxygen the water will have: that in equilibrium with air.
[confounders.oxygen]
level = "{plan.OXYGEN_IN_AIR * 1e3:g} umol/L"

[analysis.amperometry]
start_volume = "20 mL"
"""
_STEPS = f"""sample_from = "{records.SAMPLED[0]:g} s"
sample_to = "{records.SAMPLED[1]:g} s"
"""
_CHOICE = """
# What the electrode must do, and what is wanted of it.
[[choice.musts]]
finding = "response_class"
equals = "peak"
because = "without a defined peak the signal cannot be told from the background's drift"

[[choice.musts]]
finding = "false_concentration"
condition = "oxygen"
at_most = "5 umol/L"
because = "ponds are aerated: what oxygen reads as must stay below the level at which nitrite harms fish"

[[choice.musts]]
finding = "limit_of_detection"
at_most = "10 umol/L"
because = "a pond is acted on from about 10 µmol/L"

[[choice.wants]]
finding = "sensitivity_per_area"
aim = "maximise"
low = "100 uA/(mmol/L)/cm^2"
high = "900 uA/(mmol/L)/cm^2"
weight = 2.0

[[choice.wants]]
finding = "limit_of_detection"
aim = "minimise"
low = "0.3 umol/L"
high = "6 umol/L"
weight = 2.0

[[choice.wants]]
finding = "double_layer_capacitance"
aim = "minimise"
low = "30 uF/cm^2"
high = "200 uF/cm^2"
weight = 1.0

[[choice.wants]]
finding = "size_spread"
aim = "minimise"
low = "0.1"
high = "0.6"
weight = 0.5
"""
_READERS = """
# These exports have no headings: only a person can say what the columns are.
[readers.ruthenium-sweeps]
files = "Ru-*_cv_*.dat"
columns = { potential = 1, current = 2 }
units = { potential = "mV", current = "nA" }
delimiter = "space"
decimal = "."
skip = 1
encoding = "latin-1"

[readers.ruthenium-additions]
files = "Ru-*_additions*.dat"
columns = { time = 1, current = 2 }
units = { time = "s", current = "nA" }
delimiter = "space"
decimal = "."
skip = 1
encoding = "latin-1"

[readers.ruthenium-deposition]
files = "Ru-*_deposition.dat"
columns = { time = 1, current = 2 }
units = { time = "s", current = "nA" }
delimiter = "space"
decimal = "."
skip = 1
encoding = "latin-1"
"""
COLUMNS = (
    "file", "electrode", "technique", "solution", "concentration", "scan_rate", "order", "scale", "log", "step_potential", "note",
)  # fmt: skip


def study_toml(made: Sequence[Made], charges: dict[str, float], whole: Plan) -> str:
    """The text of study.toml; ``charges`` (C) are the deposition charges a notebook would hold."""
    styles = {one.material.style for one in made}
    parts = [_HEAD]
    if any(one.material.stepped for one in made):
        parts.append(_STEPS)
    parts += [_electrode(one, charges.get(one.name)) for one in made]
    if "bare numbers" in styles:
        parts.append(_READERS)
    return "".join(parts) + _CHOICE


def _electrode(one: Made, charge: float | None) -> str:
    material = one.material
    lines = [
        "",
        f"[electrodes.{one.name}]",
        f'material = "{material.name}"',
        f'role = "{material.role}"',
        f'recipe = "{material.recipe}"',
        f'area = "{material.area * 1e4:.4g} cm^2"',
    ]
    if material.factors:
        inside = ", ".join(f"{name} = {str(done).lower()}" for name, done in material.factors.items())
        lines.append(f"factors = {{ {inside} }}")
    if material.metal is not None:
        metal = material.metal
        lines += [
            f"deposition_electrons = {metal.electrons}",
            f"current_efficiency = {metal.efficiency:g}",
            f'molar_mass = "{metal.molar_mass * 1e3:g} g/mol"',
            f'density = "{metal.density * 1e-3:g} g/cm^3"',
        ]
        if charge is not None:
            lines.append(f'deposition_charge = "{charge * 1e3:.4f} mC"')
    return "\n".join([*lines, ""])


def runs_csv(rows: Sequence[dict[str, str]]) -> str:
    """The text of runs.csv."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def log_csv(log: Sequence[tuple[float, float]]) -> str:
    """The text of an addition log."""
    lines = [f"{time:g} s,{volume * 1e9:.1f} uL,{records.STOCK:g} mmol/L" for time, volume in log]
    return "\n".join(["time,volume,concentration", *lines, ""])
