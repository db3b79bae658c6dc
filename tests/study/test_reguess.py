from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

from halfcell.study.reguess import reguess


def test_a_file_that_has_become_readable_tells_its_kind(tmp_path: Path, sweep: Callable[..., str]) -> None:
    (tmp_path / "data").mkdir()
    bare = "\n".join(sweep(1e-6).replace(",", " ").splitlines()[1:]) + "\n"
    for name in ("Ni-1 V 1mM 50mVs.dat", "Ni-2 V.dat"):
        (tmp_path / "data" / name).write_text(bare, "utf-8")
    lines = [
        "file,electrode,technique,scan_rate,concentration,guessed",
        "data/Ni-1 V 1mM 50mVs.dat,Ni-1,?,,,electrode from the name",
        "data/Ni-2 V.dat,Ni-2,linear sweep,,,",
    ]
    (tmp_path / "runs.csv").write_text("\n".join(lines) + "\n", "utf-8")
    hints = {"columns": {"time": 1, "potential": 2, "current": 3}, "units": {"current": "A"}}
    files = ["data/Ni-1 V 1mM 50mVs.dat", "data/Ni-2 V.dat"]
    assert reguess(tmp_path, files, hints) == (files[0],)
    with (tmp_path / "runs.csv").open(encoding="utf-8", newline="") as source:
        first, second = csv.DictReader(source)
    assert (first["technique"], first["scan_rate"]) == ("cyclic voltammogram", "50 mV/s")
    assert first["concentration"] == "1 mmol/L"
    assert "technique from the shape of the potential" in first["guessed"]
    assert second["technique"] == "linear sweep"
