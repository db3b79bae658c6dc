"""A study folder once it has been read and found right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from halfcell.study.adjustments import Adjustment
    from halfcell.study.model import Electrode, Run, Solution, StudyFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A study folder: what is asked, what was made, one run a file, and a person's decisions."""

    folder: Path
    file: StudyFile
    runs: tuple[Run, ...]
    adjustments: tuple[Adjustment, ...] = ()

    def electrode(self, name: str) -> Electrode:
        """The electrode of a name (check has made sure that it exists)."""
        return self.file.electrodes[name]

    def solution(self, run: Run) -> Solution | None:
        """The solution a run was taken in, where it names one."""
        return self.file.solutions.get(run.solution)

    def group(self, electrode: str) -> str:
        """The value of the attribute that makes the groups (material, by default)."""
        return self.attributes(electrode).get(self.file.group_by, "")

    def attributes(self, electrode: str) -> dict[str, str]:
        """All that is known of how an electrode was made, as text, for grouping."""
        made = self.file.electrodes[electrode]
        known = {"material": made.material, "role": made.role, "recipe": made.recipe, "batch": made.batch}
        known["area"] = f"{made.area * 1e4:.4g} cm^2"
        known |= {name: "yes" if done else "no" for name, done in made.factors.items()}
        return known | made.attributes

    def runs_of(self, *techniques: str, electrode: str | None = None) -> tuple[Run, ...]:
        """The runs of some techniques, in the order of the file; all techniques if none is named.

        Runs in a probe's solution are not among them: they tell of neither the analyte nor its blank.
        """
        return tuple(
            run
            for run in self.runs
            if (not techniques or run.technique in techniques)
            and electrode in (None, run.electrode)
            and not self.in_probe(run)
        )

    def in_probe(self, run: Run) -> bool:
        """Whether a run was taken in the solution of an outer-sphere probe."""
        solution = self.solution(run)
        return (
            run.technique not in {"micrograph", "deposition"}
            and solution is not None
            and bool(solution.probe)
        )

    def decisions(self, file: str, *kinds: str) -> tuple[Adjustment, ...]:
        """A person's decisions about one raw file, of some kinds."""
        return tuple(a for a in self.adjustments if a.file == file and (not kinds or a.kind in kinds))
