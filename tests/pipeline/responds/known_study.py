"""A small study whose electrodes, capacitances and responses are known."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from halfcell.cache import Cache
from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds import responds
from halfcell.pipeline.workers import Crew
from halfcell.recording import Recording
from halfcell.results import read_only
from halfcell.signals.truth import charging, diffusing, programme, randles_amount, spoiled
from halfcell.study import open_study
from halfcell.voltammetry.nucleation import shape

AREA, DIFFUSION, RESISTANCE = 7.07e-6, 1e-9, 500.0
HEAD = """format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"
electrons = 1
diffusion_coefficient = "1e-5 cm^2/s"

[solutions.buffer]
oxygen = "removed"
ph = 7.0

[solutions.aired]
oxygen = "air"

[analysis.voltammetry]
reference_to = "RHE"
"""
METAL = 'deposition_electrons = 2\nmolar_mass = "58.693 g/mol"\ndensity = "8.908 g/cm^3"\ndeposition_charge = "0.5 mC"\n'


def loader(folder: Path, path: str, **options: Any) -> Recording:
    table = np.loadtxt(folder / path, delimiter=",", skiprows=1)
    time, potential, current = (read_only(c) for c in table.T)
    nothing = bool(np.all(potential == 0))
    return Recording(
        file=path, sha256="", time=time, potential=None if nothing else potential, current=current, extra={}
    )


class Study:
    """Electrodes whose response, capacitance and recipe are known."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.rng = folder, np.random.default_rng(5)
        self.rows: list[dict[str, str]] = []
        self.electrodes: list[str] = []
        (folder / "data").mkdir()

    def electrode(self, name: str, material: str, more: str = "") -> None:
        self.electrodes.append(f'[electrodes.{name}]\nmaterial = "{material}"\narea = "0.0707 cm^2"\n{more}')

    def cv(self, name: str, rate: float, level: float, *, share: float = 1.0, k: float = math.inf, wave: float = 0.0, capacitance: float = 2e-6, stated: float | None = None, ohm: float = 0.0, solution: str = "buffer") -> str:  # fmt: skip
        p = programme((-0.3, 0.7, -0.3, 0.7, -0.3), rate, step=2e-3)
        n = p.time.size // 2
        i = charging(p.time, p.potential, capacitance=capacitance)
        if level:
            amount = randles_amount(electrons=1, area=AREA * share, concentration=level, diffusion=DIFFUSION)
            one = diffusing(
                p.time[:n], p.potential[:n], formal=0.2, amount=amount, rate_constant=k, scale=wave
            )
            i = i + np.concatenate([one, one, [0.0]])[: i.size]
        i = spoiled(i, noise=5e-9, rho=0.3, drift=1e-8 * self.rng.standard_normal(), rng=self.rng)
        return self._write(
            f"{name}_{rate * 1e3:g}_{level:g}_{len(self.rows)}", p.time, p.potential + ohm * i, i,
            {"electrode": name, "technique": "cyclic voltammogram", "solution": solution, "concentration": f"{level:g} mmol/L", "scan_rate": f"{(stated or rate) * 1e3:g} mV/s"},
        )  # fmt: skip

    def pulses(self, name: str, level: float, *, flip: int = 1) -> str:
        e = np.arange(-0.2, 0.6, 0.002)
        a, x = 0.05 / 2 / 0.025693, (e + 0.025 - 0.2) / 0.025693
        i = flip * (1e-7 + level * 1e-6 * np.sinh(a) / (np.cosh(a) + np.cosh(x)))
        i = spoiled(i, noise=2e-9, rng=self.rng)
        return self._write(
            f"{name}_dpv_{level:g}_{len(self.rows)}", np.arange(e.size) * 0.5, e, i,
            {"electrode": name, "technique": "differential pulse", "solution": "buffer", "concentration": f"{level:g} mmol/L", "pulse": "50 mV"},
        )  # fmt: skip

    def deposition(self, name: str) -> str:
        t = np.arange(1, 1501) * 0.02
        i = shape(t, 2e-4, 0.6, 1)
        i = i * 0.5e-3 / np.trapezoid(i, t)
        i = spoiled(-i, noise=1e-7, rng=self.rng)
        return self._write(
            f"{name}_deposition", t, np.zeros(t.size), i, {"electrode": name, "technique": "deposition"}
        )

    def _write(self, stem: str, t: Any, e: Any, i: Any, row: dict[str, str]) -> str:
        file = f"data/{stem}.csv"
        np.savetxt(self.folder / file, np.column_stack([t, e, i]), delimiter=",", header="t,E,I", comments="")
        self.rows.append({"file": file} | row)
        return file

    def run(self, more: str = "", adjustments: str = "") -> tuple[Outcome, Findings]:
        keys = list(dict.fromkeys(k for r in self.rows for k in r))
        lines = [",".join(keys)] + [",".join(r.get(k, "") for k in keys) for r in self.rows]
        (self.folder / "runs.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        (self.folder / "study.toml").write_text(
            HEAD + more + "\n" + "\n".join(self.electrodes), encoding="utf-8"
        )
        if adjustments:
            (self.folder / "adjustments.toml").write_text(adjustments, encoding="utf-8")
        study = open_study(self.folder)
        bench = Bench(study=study, crew=Crew(folder=self.folder, loader=loader, hashes={}, cache=Cache(None)))
        out = responds(bench, Findings(()))
        return out, Findings(out.findings)
