"""A study of 12 electrodes, 204 files, 24 micrographs: cold, warm, one file changed; against a plain script.

The reference is benchmarks/_plain_study.py, run in a process of its own, as halfcell is: each time
includes the start of Python and the imports. halfcell does more (uncertainties over baselines, classes with
correlated noise, limits by several definitions, comparisons, choice) and uses all local cores.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import benchmarks
from benchmarks import Result

_ANALYSE = "import sys, halfcell; print(len(halfcell.analyze(sys.argv[1]).findings))"
_PLAIN = "import sys; from pathlib import Path; from benchmarks import _plain_study; _plain_study.main(Path(sys.argv[1]))"

_NOTES = (
    "Summed over all cores halfcell works about twice as long as the script on the same files, for what the script",
    "leaves out: layouts, units and headings found instead of told; outlines of particles along rays, overlaps and",
    "twice as many random placements; each shape at hundreds of places and widths under correlated noise instead of three",
    "starts; detection limits by every definition; a dozen methods of comparison with the level held; the choice by draws.",
    "Not all of that can be spread: loading the libraries, and putting findings together between the stages.",
    "One file changed: more than half of the time is loading the libraries.",
)


def write(folder: Path) -> int:
    """The invented study; the number of its files of raw data."""
    from halfcell.demo import write as write_study
    from halfcell.demo.plan import CANDIDATES, Plan

    plan = Plan(
        materials=tuple((material, 3) for material in CANDIDATES),
        blank_rates=(0.025, 0.05, 0.1, 0.2, 0.3, 0.4),
        study_rates=(0.025, 0.1, 0.2, 0.3),
        studied=3,
        fields=2,
    )
    return write_study(folder, plan=plan).files


def run() -> Result:
    """Cold, warm and one file changed."""
    with tempfile.TemporaryDirectory() as base:
        folder, cache = Path(base) / "study", Path(base) / "cache"
        files = write(folder)
        reference = _timed(_PLAIN, folder, cache)
        cold = _timed(_ANALYSE, folder, cache)
        warm = _timed(_ANALYSE, folder, cache)
        _change(folder / "data" / "Ni-2_cv_1mM_50mVs.txt")
        changed = _timed(_ANALYSE, folder, cache)
    rows = (
        (f"cold, {files} files", f"{cold:.2f} s", f"{reference:.2f} s"),
        ("warm", f"{warm:.2f} s", ""),
        ("one file changed", f"{changed:.2f} s", ""),
    )
    return Result(
        name="study",
        halfcell=cold,
        reference=reference,
        rows=rows,
        notes=(f"cores: {os.cpu_count()}", *_NOTES),
    )


def _timed(code: str, folder: Path, cache: Path) -> float:
    root = Path(benchmarks.__file__).parent.parent
    paths = os.pathsep.join([str(root), str(root / "src"), os.environ.get("PYTHONPATH", "")])
    environment = os.environ | {"HALFCELL_CACHE": str(cache), "PYTHONPATH": paths}
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", code, str(folder)], check=True, env=environment, stdout=subprocess.PIPE
    )
    return time.perf_counter() - start


def _change(path: Path) -> None:
    """Another noise in the last digits, so that the bytes differ and the meaning hardly does."""
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    cells = lines[100].split("\t")
    cells[2] = f"{float(cells[2]) * 1.0001:.6E}"
    lines[100] = "\t".join(cells)
    kept = path.with_suffix(".new")
    kept.write_text("".join(lines), encoding="utf-8")
    shutil.move(kept, path)
