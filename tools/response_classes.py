"""Writes docs/response-classes.md: how often the response class is wrong, on simulated records of known class.

    python tools/response_classes.py [RECORDS] [FILE]

RECORDS (default 150) are simulated for each kind and signal-to-noise ratio.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import numpy as np

from halfcell.signals.truth import bound, diffusing, programme, spoiled
from halfcell.voltammetry.response import classify_response

RATIOS = (1.0, 2.0, 3.0, 5.0, 10.0, 30.0, 100.0)
SEED = 20250101
P = programme((-0.4, 0.5), 0.05, step=1.5e-3)
BLANK = 0.5 + 0.3 * P.potential + 2 * np.exp((P.potential - 0.55) / 0.05)
KINDS = {
    "nothing": "none",
    "steady wave": "wave",
    "catalytic wave": "wave",
    "rise at the end of the scan": "wave",
    "reversible peak": "peak",
    "irreversible peak": "peak",
    "slow peak, alpha n 0.3": "peak",
    "bound layer": "peak",
    "peak falling by about a quarter": "peak",
}


def clean(kind: str, rng: np.random.Generator) -> np.ndarray:
    """The response without noise, its largest value 1 (0 for nothing)."""
    t, e, at = P.time, P.potential, rng.uniform(-0.15, 0.2)
    n = int(rng.choice([1, 2]))
    if kind == "nothing":
        return np.zeros(e.size)
    if kind == "steady wave":
        i = 1 / (1 + np.exp(-(e - at) / (0.0257 * rng.uniform(0.6, 3))))
    elif kind == "catalytic wave":
        i = diffusing(t, e, formal=at, amount=1.0, electrons=n, scale=rng.uniform(20, 80))
    elif kind == "rise at the end of the scan":
        i = np.exp((e - e[-1]) / rng.uniform(0.05, 0.12))
    elif kind == "reversible peak":
        i = diffusing(t, e, formal=at, amount=1.0, electrons=n)
    elif kind == "irreversible peak":
        i = diffusing(t, e, formal=at - 0.25, amount=1.0, rate_constant=10 ** rng.uniform(-2, -1))
    elif kind == "slow peak, alpha n 0.3":
        i = diffusing(t, e, formal=at - 0.35, amount=1.0, rate_constant=0.03, alpha=0.3)
    elif kind == "bound layer":
        i = bound(e, 0.05, formal=at, charge=1.0, electrons=n)
    else:
        i = diffusing(t, e, formal=min(at, 0.1), amount=1.0, scale=rng.uniform(0.27, 0.33))
    return i / i.max()


def record(kind: str, ratio: float, rng: np.random.Generator) -> np.ndarray:
    """A record less its blank: noise AR(1), drift, a share of the blank left over."""
    left = 0.05 * rng.standard_normal() * BLANK
    rho = float(rng.choice([0.0, 0.4, 0.8]))
    return spoiled(
        clean(kind, rng) + left, noise=1 / ratio, rho=rho, drift=0.3 * rng.standard_normal(), rng=rng
    )


def table(records: int) -> list[str]:
    """The lines of the table of error rates, and of that of what was said instead."""
    head = [
        "| what is there | class | " + " | ".join(f"{r:g}" for r in RATIOS) + " |",
        "| --- | --- |" + " ---: |" * len(RATIOS),
    ]
    wrong_lines, said_lines = [], []
    for kind, word in KINDS.items():
        cells, instead = [], []
        for ratio in RATIOS:
            rng = np.random.default_rng([SEED, list(KINDS).index(kind), int(ratio)])
            said = Counter(
                classify_response(P.potential, record(kind, ratio, rng), blank=BLANK).word
                for _ in range(records)
            )
            cells.append(f"{100 * (1 - said[word] / records):.1f}")
            other = [(w, k) for w, k in said.most_common() if w != word]
            instead.append(other[0][0] if other else "–")
        wrong_lines.append(f"| {kind} | {word} | " + " | ".join(cells) + " |")
        said_lines.append(f"| {kind} | {word} | " + " | ".join(instead) + " |")
    return [*head, *wrong_lines, "", "What was said instead, most often:", "", *head, *said_lines]


def page(records: int) -> str:
    """The whole page."""
    count = records * len(KINDS) * len(RATIOS)
    lines = [
        "# How often the response class is wrong",
        "",
        "Written by `python tools/response_classes.py` from simulated records of known class; do not edit.",
        "",
        f"Each cell: {records} records ({count} in all) of {P.potential.size} samples over {np.ptp(P.potential):.1f} V, with AR(1) noise (correlation 0, 0.4 or",
        "0.8 from sample to sample), a drift of about a third of the response over the scan, and about 5 % of the",
        "blank's own current left over. The number above a column is the height of the response over the standard",
        "deviation of the noise of one sample. Errors in percent at the 95 % setting; with this many records an",
        f"error rate of 5 % shows as {max(5 - 196 * (0.05 * 0.95 / records) ** 0.5, 0):.1f} to {5 + 196 * (0.05 * 0.95 / records) ** 0.5:.1f}.",
        "",
        *table(records),
        "",
        "## Reading it",
        "",
        "* Where nothing is there, a response is claimed in at most about 5 % of the records at any noise.",
        "* From a ratio of 10 on the class is wrong in at most about 5 % of the records of every kind above; at 5 that is so",
        "  of most, but not of broad peaks, whose fall is slow.",
        "* Below that a weak response reads as none, and a weak peak as a wave: a noisy record shows no absence.",
        "* A maximum followed by a fall of less than 10 % counts as a wave by definition.",
        "* The models know one process in the window. Two overlapping ones, or a blank that does not belong to the record, are",
        "  outside this table.",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 150
    target = (
        Path(sys.argv[2])
        if len(sys.argv) > 2
        else Path(__file__).parent.parent / "docs" / "response-classes.md"
    )
    target.write_text(page(wanted), encoding="utf-8", newline="\n")
    print(target)
