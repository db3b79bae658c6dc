"""Timings of halfcell against a reference: ``python -m benchmarks`` lists them.

Each module here with a function ``run() -> Result`` is one benchmark, named as its module.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What a benchmark found. ``halfcell`` and ``reference`` are times in s of the same work."""

    name: str
    halfcell: float
    reference: float
    head: tuple[str, ...] = ("what", "halfcell", "reference")
    rows: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def ratio(self) -> float:
        """How many times faster halfcell is."""
        return self.reference / self.halfcell

    def table(self) -> str:
        """The rows in columns, then the notes."""
        lines = [self.head, *self.rows]
        widths = [max(len(line[k]) for line in lines if k < len(line)) for k in range(len(self.head))]
        text = [
            "  ".join(cell.ljust(w) for cell, w in zip(line, widths, strict=False)).rstrip() for line in lines
        ]
        return "\n".join([text[0], "  ".join("-" * w for w in widths), *text[1:], *self.notes])

    def last_line(self) -> str:
        """The one line a machine reads."""
        return f"{self.name} ratio={self.ratio:.2f} halfcell={self.halfcell:.3f}s reference={self.reference:.3f}s"


def best_of(work: Callable[[], object], times: int = 3) -> float:
    """The shortest of some runs, in s: the one least disturbed by the rest of the machine."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def best_of_pair(
    ours: Callable[[], object], theirs: Callable[[], object], times: int = 3, patience: float = 15.0
) -> tuple[float, float]:
    """The shortest of some runs of two works done in turn, so that a slow spell meets both.

    No further turn is begun after ``patience`` seconds: a busy machine gets fewer.
    """
    begun, taken = time.perf_counter(), []
    for _ in range(times):
        taken.append((best_of(ours, 1), best_of(theirs, 1)))
        if time.perf_counter() - begun > patience:
            break
    return min(t[0] for t in taken), min(t[1] for t in taken)
