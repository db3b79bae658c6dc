"""The appendix: all that another person needs to do the analysis again."""

from __future__ import annotations

import platform
from importlib import metadata
from typing import TYPE_CHECKING

from halfcell._version import __version__
from halfcell.report.blocks import Part, Section, Table, Text
from halfcell.units import number, pretty

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis

__all__ = ["appendix", "files_table", "versions"]

LIBRARIES = (
    "numpy",
    "scipy",
    "pandas",
    "statsmodels",
    "scikit-image",
    "pybaselines",
    "matplotlib",
    "pint",
    "pydantic",
)


def appendix(analysis: Analysis) -> Part:
    """Files with hashes, a person's adjustments, problems, the study file, versions."""
    sections = [
        Section(title="To do it again", blocks=(Text(text=_again(analysis)), versions())),
        Section(title="Problems", blocks=(_problems(analysis),), folded=False),
        Section(title="Adjustments by a person", blocks=(_adjustments(analysis),)),
        Section(title="Files", blocks=(files_table(analysis),), folded=True),
        Section(title="The study file", blocks=(Text(text=_study_file(analysis), tone="code"),), folded=True),
    ]
    return Part(place="Appendix", question="What is needed to reproduce this?", sections=tuple(sections))


def _again(analysis: Analysis) -> str:
    confidence, seed = analysis.study.file.analysis.confidence, analysis.study.file.analysis.seed
    return (
        f"With the files listed below and halfcell {__version__}, “halfcell report DIR” on the study folder writes this report again. "
        f"Intervals and tests are at {confidence:.4g} confidence; resampling starts from the seed {seed}. "
        "“halfcell why DIR FINDING ELECTRODE” shows the thread from a number to the samples in its raw files."
    )


def versions() -> Table:
    """halfcell, Python and the libraries that computed."""
    rows = [("halfcell", __version__), ("Python", platform.python_version())]
    for name in LIBRARIES:
        try:
            rows.append((name, metadata.version(name)))
        except metadata.PackageNotFoundError:
            continue
    return Table(title="Versions", head=("software", "version"), rows=tuple(rows), folded=True)


def files_table(analysis: Analysis) -> Table:
    """Every file with what it is and its sha256."""
    rows = []
    about = {}
    for run in analysis.study.runs:
        concentration = "" if run.concentration is None else f"{number(run.concentration)} {pretty('mmol/L')}"
        rate = "" if run.scan_rate is None else f"{number(run.scan_rate * 1e3)} {pretty('mV/s')}"
        about[run.file] = (run.electrode, run.technique, run.solution, concentration, rate)
    for file, sha256 in analysis.files.items():
        rows.append((file, *about.get(file, ("", "log", "", "", "")), sha256 or "missing"))
    head = ("file", "electrode", "technique", "solution", "concentration", "scan rate", "sha256")
    return Table(title="", head=head, rows=tuple(rows))


def _adjustments(analysis: Analysis) -> Table | Text:
    if not analysis.study.adjustments:
        return Text(text="Nothing was adjusted by hand.")
    rows = []
    for a in analysis.study.adjustments:
        values = a.model_dump(mode="json", exclude={"kind", "file", "electrode", "who", "when", "why"})
        what = ", ".join(f"{k} = {v}" for k, v in values.items())
        rows.append(
            (a.kind, getattr(a, "file", "") or getattr(a, "electrode", ""), what, a.who, a.when, a.why)
        )
    return Table(title="", head=("kind", "about", "what", "who", "when", "why"), rows=tuple(rows))


def _problems(analysis: Analysis) -> Table | Text:
    if not analysis.problems:
        return Text(text="Every file was read and every method that applies to it gave a result.")
    rows = tuple(
        (p.severity, ": ".join(x for x in (p.file, p.place) if x), p.what) for p in analysis.problems
    )
    return Table(title="What could not be done", head=("severity", "where", "what"), rows=rows)


def _study_file(analysis: Analysis) -> str:
    try:
        return (analysis.study.folder / "study.toml").read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        return f"study.toml could not be read ({error})."
