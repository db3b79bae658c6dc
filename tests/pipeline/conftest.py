"""A small invented study of current–time records, for the tests of quantification and confounders."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfcell.amperometry.dilution import dilute
from halfcell.amperometry.truth import additions_trace, step_trace
from halfcell.cache import Cache
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.workers import Crew
from halfcell.recording import Recording
from halfcell.results import read_only
from halfcell.study import open_study

AREA = 0.0707e-4
TIMES = [60.0 + 50 * k for k in range(7)]
VOLUMES = [20e-9, 20e-9, 40e-9, 80e-9, 80e-9, 160e-9, 160e-9]
STOCK = 100.0
START = 20e-6
LEVELS = dilute(START, VOLUMES, [STOCK] * 7).concentration

HEAD = """format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"

[solutions.buffer]
oxygen = "removed"

[solutions.aired]
oxygen = "air"

[solutions.salty]
oxygen = "removed"
confounder = "chloride"
confounder_concentration = "10 mmol/L"

[confounders.oxygen]
level = "258 umol/L"

[confounders.chloride]
level = "20 mmol/L"

[analysis.amperometry]
start_volume = "20 mL"
"""


def loader(folder: Path, path: str, **options: Any) -> Recording:
    table = np.loadtxt(folder / path, delimiter=",", skiprows=1)
    if table.shape[1] == 3:
        time, potential, current = (read_only(c) for c in table.T)
        return Recording(file=path, sha256="", time=time, potential=potential, current=current, extra={})
    return Recording(
        file=path, sha256="", time=read_only(table[:, 0]), current=read_only(table[:, 1]), extra={}
    )


class Maker:
    """Writes files and rows; then gives a bench."""

    AREA = AREA
    LEVELS = LEVELS

    def __init__(self, folder: Path, seed: int = 1) -> None:
        self.folder, self.rng = folder, np.random.default_rng(seed)
        self.rows: list[dict[str, str]] = []
        self.electrodes: list[str] = []
        (folder / "data").mkdir()

    def electrode(self, name: str, material: str, batch: str = "") -> None:
        self.electrodes.append(
            f'[electrodes.{name}]\nmaterial = "{material}"\nbatch = "{batch}"\narea = "0.0707 cm^2"\n'
        )

    def additions(
        self, electrode: str, slope: float, *, offset: float = 5e-9, scatter: float = 8e-9, solution: str = "buffer",
        tail: str = "", bend: float = 0.0, start: float = 0.0, part: dict[int, float] | None = None, made: list[bool] | None = None, logged: list[bool] | None = None, **row: str,
    ) -> str:  # fmt: skip
        made = made or [True] * 7
        volumes = [
            v * (part or {}).get(k, 1.0) for k, (v, m) in enumerate(zip(VOLUMES, made, strict=True)) if m
        ]
        level = dilute(START, volumes, [STOCK] * len(volumes), start_concentration=start).concentration
        clean = offset + slope * level / (1 + bend * level)
        plateau = clean + scatter * self.rng.normal(size=level.size)
        trace = additions_trace(
            self.rng,
            times=[t for t, m in zip(TIMES, made, strict=True) if m],
            levels=plateau,
            duration=420,
            noise=2e-9,
            spike=50e-9,
        )
        name = f"{electrode}_additions{tail}"
        file = self._write(name, trace.time, trace.current)
        logged = logged or [True] * 7
        lines = [f"{t:g};{v * 1e9:g};100" for t, v, m in zip(TIMES, VOLUMES, logged, strict=True) if m]
        (self.folder / "data" / f"{name}_log.csv").write_text(
            "\n".join(["time / s;volume / uL;concentration / mmol/L", *lines]), "utf-8"
        )
        self.rows.append(
            {
                "file": file,
                "electrode": electrode,
                "technique": "additions",
                "solution": solution,
                "log": f"data/{name}_log.csv",
            }
            | row
        )
        return file

    def step(self, electrode: str, level: float, *, scatter: float = 5e-9, share: float = 1.0, solution: str = "buffer", tail: str = "", offset: float = 0.0, **row: str) -> str:  # fmt: skip
        trace = step_trace(
            self.rng, duration=10, rate=20, area=AREA * share, concentration=level, charging=5e-6, time_constant=0.1, noise=3e-9,
            steady=offset + scatter * self.rng.normal(),
        )  # fmt: skip
        file = self._write(f"{electrode}_step_{level:g}{tail}", trace.time, trace.current)
        self.rows.append(
            {
                "file": file,
                "electrode": electrode,
                "technique": "potential step",
                "solution": solution,
                "concentration": f"{level:g} mmol/L",
            }
            | row
        )
        return file

    def sweep(
        self, electrode: str, peaks: list[tuple[float, float, float]], *, solution: str, tail: str, **row: str
    ) -> str:
        """A cathodic sweep and back from 0 to −1 V with peaks (potential, width, height) on the way out."""
        out = np.linspace(0, -1, 501)
        e = np.concatenate([out, out[-2::-1]])
        i = np.where(np.arange(e.size) < 501, -2e-7, 2e-7) + 2e-9 * self.rng.normal(size=e.size)
        for where, width, height in peaks:
            i[:501] -= height * np.exp(-4 * np.log(2) * ((out - where) / width) ** 2)
        name = f"data/{electrode}_cv{tail}.csv"
        columns = np.column_stack([np.arange(e.size) * 0.04, e, i])
        np.savetxt(self.folder / name, columns, delimiter=",", header="time / s,E / V,i / A", comments="")
        base = {
            "file": name,
            "electrode": electrode,
            "technique": "cyclic voltammogram",
            "solution": solution,
            "scan_rate": "50 mV/s",
        }
        self.rows.append(base | row)
        return name

    def bench(self, more: str = "", adjustments: str = "") -> Bench:
        columns = list(dict.fromkeys(key for row in self.rows for key in row))
        lines = [",".join(columns)] + [",".join(row.get(c, "") for c in columns) for row in self.rows]
        (self.folder / "runs.csv").write_text("\n".join(lines) + "\n", "utf-8")
        (self.folder / "study.toml").write_text(HEAD + more + "\n" + "\n".join(self.electrodes), "utf-8")
        if adjustments:
            (self.folder / "adjustments.toml").write_text(adjustments, "utf-8")
        study = open_study(self.folder)
        return Bench(study=study, crew=Crew(folder=self.folder, loader=loader, hashes={}, cache=Cache(None)))

    def _write(self, name: str, time: np.ndarray, current: np.ndarray) -> str:
        np.savetxt(
            self.folder / "data" / f"{name}.csv",
            np.column_stack([time, current]),
            delimiter=",",
            header="time / s,i / A",
            comments="",
        )
        return f"data/{name}.csv"


@pytest.fixture
def maker(tmp_path: Path) -> Maker:
    """An empty study to be filled."""
    return Maker(tmp_path)
