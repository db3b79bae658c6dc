"""The bench a stage works at: the study, its crew, and the way to write a finding."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfcell.finding import Finding
from halfcell.pipeline.methods import METHODS
from halfcell.units import factor
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from halfcell.pipeline.workers import Crew
    from halfcell.results import Measured
    from halfcell.study.model import Run
    from halfcell.study.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What every stage is given."""

    study: Study
    crew: Crew

    @property
    def confidence(self) -> float:
        """The study's confidence level."""
        return self.study.file.analysis.confidence

    def source(self, run: Run) -> tuple[str, Mapping[str, Any]]:
        """A run as an entry of ``Job.files``: its path and how to read it.

        Potential, current and time come in SI units with oxidation positive; a current density
        is turned into a current with the electrode's area.
        """
        from halfcell.pipeline.loading import options

        return run.file, options(self.study, run)

    def finding(
        self,
        name: str,
        measured: Measured,
        *,
        method: str,
        electrode: str = "",
        group: str | None = None,
        condition: str = "",
        text: str = "",
        runs: tuple[Run, ...] = (),
        settings: Mapping[str, Any] | None = None,
        notes: tuple[str, ...] = (),
    ) -> Finding:
        """A finding from a value in the SI unit of its term; ``method`` is a key of METHODS."""
        term, made_by = TERMS[name], METHODS[method]
        scale = factor(term.si, term.unit)
        if group is None:
            group = self.study.group(electrode) if electrode else ""
        return Finding(
            name=name,
            value=float(measured.value) * scale,
            standard_uncertainty=float(measured.u) * scale,
            degrees_of_freedom=float(measured.df),
            unit=term.unit,
            electrode=electrode,
            group=group,
            condition=condition,
            text=text,
            recordings=tuple(dict.fromkeys(run.file for run in runs)),
            method=method,
            source=made_by.source,
            settings=dict(settings or {}),
            notes=tuple(n for n in (measured.why, *notes) if n),
        )
