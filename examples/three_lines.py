"""A study in three lines, as in a notebook: open it, analyze it, look at the table.

Run with a study folder, or without one to use a small invented study written to a temporary folder:

    python examples/three_lines.py my-study
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import halfcell


def main(folder: Path) -> None:
    study = halfcell.open_study(folder)
    analysis = halfcell.analyze(study)
    table = analysis.findings.frame()

    print(
        table[["name", "electrode", "condition", "value", "standard_uncertainty", "unit"]].to_string(
            max_rows=40
        )
    )
    slopes = table[(table["name"] == "sensitivity_per_area") & (table["condition"] == "")]
    print(slopes.groupby("group")["value"].agg(["count", "mean", "std"]))


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        from halfcell.demo import write

        with tempfile.TemporaryDirectory() as base:
            write(Path(base) / "study", small=True)
            main(Path(base) / "study")
