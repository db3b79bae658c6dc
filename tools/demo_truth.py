"""Hold the analysis of the demo study to what is true of it, and print the table.

    python tools/demo_truth.py            the whole study
    python tools/demo_truth.py --small --seeds 5

Every number that has a truth is shown by name: how many, the mean and the mean square of (found − true)/u,
the furthest, and each that lies beyond three. Exits with 1 when more are beyond three than chance allows,
a response is put in the wrong class, or the choice is wrong.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import numpy as np


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--first", type=int, default=20250101)
    parser.add_argument("--cores", type=int, default=None)
    asked = parser.parse_args()
    by_name: dict[str, list] = defaultdict(list)
    wrong = []
    for seed in range(asked.first, asked.first + asked.seeds):
        wrong += one(seed, asked.small, asked.cores, by_name)
    far = table(by_name)
    for text in wrong:
        print(text)
    allowed = 3 + 0.01 * sum(map(len, by_name.values()))
    return int(bool(wrong) or far > allowed)


def one(seed: int, small: bool, cores: int | None, by_name: dict[str, list]) -> list[str]:
    from halfcell import analyze
    from halfcell.cache import Cache
    from halfcell.demo import write
    from halfcell.demo.agreement import agreements

    with tempfile.TemporaryDirectory() as base:
        truth = write(Path(base) / "study", seed=seed, small=small)
        analysis = analyze(Path(base) / "study", cache=Cache(None), cores=cores)
    for row in agreements(analysis.findings, truth):
        by_name[row.name].append(row)
    wrong = [f"seed {seed}: {p}" for p in analysis.problems if p.severity == "error"]
    for name, known in truth.electrodes.items():
        words = {f.text for f in analysis.findings.named("response_class", electrode=name)}
        if words != {known.response_class}:
            wrong.append(f"seed {seed}: {name} is a {known.response_class}, found {sorted(words)}")
        found = {f.text for f in analysis.findings.named("evenness", electrode=name)}
        if known.evenness and found != {known.evenness}:
            print(
                f"seed {seed}: {name} is {known.evenness}, found {sorted(found)} (at 95 %, one in twenty random ones is)"
            )
    choice = analysis.choice
    if choice is None or choice.leader != truth.winner or set(choice.failed) != set(truth.eliminated):
        wrong.append(f"seed {seed}: chosen {choice and choice.leader}, eliminated {choice and choice.failed}")
    steps = {f.text for f in analysis.findings.named("steps_needed")}
    if truth.both_steps_needed is not None and steps != {"shown"}:
        wrong.append(f"seed {seed}: both steps needed: {sorted(steps)}")
    return wrong


def table(by_name: dict[str, list]) -> int:
    far = 0
    print(f"{'number':28}{'n':>5}{'mean z':>9}{'mean z²':>9}{'furthest':>10}{'no u':>6}{'found/true':>12}")
    for name, rows in by_name.items():
        z = np.array([r.z for r in rows])
        known = z[np.isfinite(z)]
        ratio = np.nanmedian([r.found / r.truth for r in rows])
        shown = (known.mean(), np.square(known).mean(), np.abs(known).max()) if known.size else (np.nan,) * 3
        print(
            f"{name:28}{len(rows):5}{shown[0]:9.2f}{shown[1]:9.2f}{shown[2]:10.2f}{z.size - known.size:6}{ratio:12.4f}"
        )
        for row in rows:
            if abs(row.z) > 3:
                far += 1
                print(
                    f"    {row.electrode} {row.condition}: {row.found:.5g} ± {row.u:.2g} {row.unit}, true {row.truth:.5g}"
                )
    return far


if __name__ == "__main__":
    sys.exit(main())
