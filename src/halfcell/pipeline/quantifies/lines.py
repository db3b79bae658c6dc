"""Points to calibrations: one a series of points on an electrode, and which of them is the main one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfcell.calibration.curve import Calibration, calibrate
from halfcell.errors import MethodError, Problem
from halfcell.pipeline.quantifies.points import ORDER, Point, is_clean, is_plain, rejection

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A calibration with the points it rests on. ``direction`` is +1 anodic, −1 cathodic."""

    electrode: str
    kind: str
    solution: str
    series: str
    points: tuple[Point, ...]
    rejected: tuple[Point, ...]
    calibration: Calibration
    direction: int = 1
    main: bool = False

    @property
    def runs(self) -> tuple[Run, ...]:
        """The runs of the points, each once."""
        return tuple({p.run.file: p.run for p in self.points}.values())

    @property
    def condition(self) -> str:
        """Empty for the main calibration; else what tells it apart."""
        return (
            "" if self.main else ", ".join(part for part in (self.kind, self.series, self.solution) if part)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """All calibrations of a study."""

    fitted: tuple[Fitted, ...]
    problems: tuple[Problem, ...]
    rule: str

    def main(self) -> tuple[Fitted, ...]:
        """The main calibration of each electrode that has one."""
        return tuple(f for f in self.fitted if f.main)


def fit_lines(bench: Bench, points: Iterable[Point]) -> Lines:
    """Every series of at least four plain points at three levels, fitted; then the main ones chosen."""
    problems: list[Problem] = []
    series: dict[tuple[str, str, str, str], list[Point]] = {}
    for point in points:
        if is_plain(point.run):
            series.setdefault((point.electrode, point.kind, point.solution, _series(point)), []).append(point)
    fitted = []
    for (electrode, kind, solution, name), members in series.items():
        found = _fit(bench, electrode, kind, solution, name, members, problems)
        if found is not None:
            fitted.append(found)
    directed = _directed(bench, fitted)
    chosen, rule = _choose(bench, directed)
    return Lines(fitted=tuple(chosen), problems=tuple(problems), rule=rule)


def _series(point: Point) -> str:
    """Repeated records of additions on one electrode are replicates of one calibration."""
    return "" if point.kind == "additions" else point.series


def _fit(
    bench: Bench,
    electrode: str,
    kind: str,
    solution: str,
    series: str,
    members: Sequence[Point],
    problems: list[Problem],
) -> Fitted | None:
    marked = [replace(p, rejected=rejection(bench, p)) for p in members]
    kept, rejected = [p for p in marked if not p.rejected], [p for p in marked if p.rejected]
    x, y = np.array([p.level for p in kept]), np.array([p.current.value for p in kept])
    if np.unique(x).size < 3 or x.size < 4:
        if kind in {"additions", "potential steps"} and np.unique(x).size > 1:
            what = f"{electrode} has {x.size} points at {np.unique(x).size} levels from {kind}; a calibration needs four at three."
            problems.append(Problem(file=members[0].run.file, what=what, severity="warning"))
        return None
    settings = bench.study.file.analysis.calibration
    blanks = y[x == 0]
    above = x[x > 0]
    low = y[x == above.min()] if int(np.sum(x == above.min())) >= 4 else None
    try:
        calibration = calibrate(
            x,
            y,
            weights=settings.weights,
            blanks=blanks,
            low_replicates=low,
            u_x=np.array([p.u_level for p in kept]),
            readings=settings.readings,
            noise=next((p.noise for p in kept if p.level == 0 and p.noise is not None), None),
            level=bench.confidence,
            whole=settings.span == "all levels",
        )
    except MethodError as error:
        problems.append(
            Problem(
                file=members[0].run.file,
                place=f"calibration of {electrode} from {kind}",
                what=str(error),
                severity="warning",
            )
        )
        return None
    return Fitted(
        electrode=electrode,
        kind=kind,
        solution=solution,
        series=series,
        points=tuple(kept),
        rejected=tuple(rejected),
        calibration=calibration,
    )


def _directed(bench: Bench, fitted: Sequence[Fitted]) -> list[Fitted]:
    """The direction of a group's response: the sign of the sum of its slopes over their uncertainties."""
    score: dict[tuple[str, str, str, str], float] = {}
    for f in fitted:
        slope = f.calibration.line.slope
        one = slope.value / slope.u if slope.u > 0 else float(np.sign(slope.value))
        score[_family(bench, f)] = score.get(_family(bench, f), 0.0) + one
    return [replace(f, direction=-1 if score[_family(bench, f)] < 0 else 1) for f in fitted]


def _family(bench: Bench, f: Fitted) -> tuple[str, str, str, str]:
    return bench.study.group(f.electrode), f.kind, f.solution, f.series


def _choose(bench: Bench, fitted: Sequence[Fitted]) -> tuple[list[Fitted], str]:
    wanted = bench.study.file.analysis.calibration.from_records
    clean = [f for f in fitted if is_clean(bench.study.file.solutions.get(f.solution))]
    pool = clean or list(fitted)
    votes = Counter(f.kind for f in {(f.electrode, f.kind): f for f in pool}.values())
    order = sorted(ORDER, key=lambda kind: (kind != wanted, -votes[kind], ORDER.index(kind)))
    usual = order[0] if votes else ""
    keys: dict[str, tuple[tuple[int, int, str, str], Fitted]] = {}
    for f in pool:
        rank = (order.index(f.kind), -len(f.points), f.solution, f.series)
        if f.electrode not in keys or rank < keys[f.electrode][0]:
            keys[f.electrode] = (rank, f)
    main = {id(f) for _, f in keys.values()}
    why = "as the study says" if wanted != "auto" else "which most electrodes have"
    rule = (
        f"The main calibration of an electrode is that from {usual}, {why}, in a solution without a known confounder; an electrode without it has its own next best, and says so."
        if usual
        else "There is no calibration."
    )
    return [replace(f, main=id(f) in main) for f in fitted], rule
