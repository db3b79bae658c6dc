"""The texts of a new study folder: study.toml, runs.csv and intake.csv, with guesses marked."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from halfcell.study.intake_names import made_of
from halfcell.study.intake_questions import row_questions
from halfcell.study.intake_readers import reader_tables
from halfcell.study.known import Known
from halfcell.study.translate import BLANK
from halfcell.study.words import count, listed

if TYPE_CHECKING:
    from halfcell.study.intake import Taken
    from halfcell.study.intake_guess import GuessedRow

COLUMNS = (
    "file", "electrode", "technique", "solution", "concentration", "scan_rate", "order", "scale", "log", "step_potential", "note", "guessed",
)  # fmt: skip
RECORDED = ("file", "copied_from", "sha256", "bytes", "kind")
"""Columns of intake.csv."""
_REFERENCE = re.compile(
    r"\b(?:vs\.?|versus|against)\s*((?:Ag\s*/\s*AgCl|Ag\s*/\s*Ag\+|Hg\s*/\s*HgO|SCE|RHE|NHE|SHE|MSE)\b)",
    re.IGNORECASE,
)
_CRITERIA = """
# What must the electrode do, and what is wanted of it? Take the marks away and put your own limits.
# [[choice.musts]]
# finding = "response_class"
# equals = "peak"
#
# [[choice.musts]]
# finding = "limit_of_detection"
# at_most = "10 umol/L"
#
# [[choice.wants]]
# finding = "sensitivity_per_area"
# aim = "maximise"
# low = "0 uA/(mmol/L)/cm^2"
# high = "500 uA/(mmol/L)/cm^2"
# weight = 1.0
"""


@dataclass(frozen=True, slots=True)
class Written:
    """What was guessed and what is left to ask, in sentences."""

    guesses: tuple[str, ...]
    questions: tuple[str, ...]


def write_study(folder: Path, name: str, taken: Sequence[Taken], rows: Sequence[GuessedRow]) -> Written:
    """Write the three files into ``folder``."""
    toml, guesses, questions = _study_toml(name, taken, rows)
    (folder / "study.toml").write_text(toml, encoding="utf-8", newline="\n")
    (folder / "runs.csv").write_text(_runs_csv(rows), encoding="utf-8", newline="\n")
    (folder / "intake.csv").write_text(_intake_csv(taken), encoding="utf-8", newline="\n")
    return Written((*guesses, *row_guesses(rows)), (*questions, *row_questions(taken, rows)))


def _runs_csv(rows: Sequence[GuessedRow]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows({**row.cells, "guessed": row.note} for row in rows)
    return out.getvalue()


def _intake_csv(taken: Sequence[Taken]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, RECORDED, lineterminator="\n")
    writer.writeheader()
    writer.writerows(recorded(t) for t in taken)
    return out.getvalue()


def recorded(taken: Taken) -> dict[str, str]:
    """A line of intake.csv: where a file came from and what was in it."""
    cells = (taken.file, taken.source, taken.sha256, str(taken.size), taken.kind)
    return dict(zip(RECORDED, cells, strict=True))


def _study_toml(
    name: str, taken: Sequence[Taken], rows: Sequence[GuessedRow]
) -> tuple[str, list[str], list[str]]:
    reference, told = _reference(taken)
    lines = [
        "# Made from a folder of files. What is marked 'guessed' was guessed: check it, then take the mark away.",
        f'# "{BLANK}" stands where only a person knows the answer; `halfcell check` lists what is left.',
        "",
        "format = 1",
        f"title = {_text(name)}",
        f'analyte = "{BLANK}"  # what is to be sensed, such as "nitrite"',
        f"reference_electrode = {_text(reference)}  # {told}",
        'oxidation_current = "positive"  # guessed: check that an oxidation has a positive current in the exports',
        'temperature = "25 degC"  # guessed',
        'group_by = "material"  # guessed',
    ]
    guesses = ["study.toml: an oxidation has a positive current in the exports, 25 °C, groups by material."]
    questions = ["study.toml, analyte: what is to be sensed?"]
    if reference == BLANK:
        questions.append(
            "study.toml, reference_electrode: which reference electrode are the potentials against?"
        )
    questions.append(
        "study.toml, oxidation_current: is the current of an oxidation positive or negative in these exports?"
    )
    questions.append("study.toml, temperature: at which temperature was measured?")
    nothing = Known()
    for part in (
        solution_tables(rows, nothing),
        oxygen_table(rows, nothing),
        volume_table(rows),
        electrode_tables(rows, nothing),
        reader_tables(taken),
    ):
        lines += part[0]
        questions += part[1]
    questions.append(
        "study.toml, [choice]: what must the electrode do, and what is wanted of it? Commented examples stand at the end."
    )
    return "\n".join(lines) + "\n" + _CRITERIA, guesses, questions


def _reference(taken: Sequence[Taken]) -> tuple[str, str]:
    found = {re.sub(r"\s", "", m.group(1)) for t in taken if (m := _REFERENCE.search(t.header))}
    if len(found) == 1:
        return found.pop(), "guessed from the headings; with its filling solution where it has one"
    return BLANK, 'such as "Ag/AgCl, 3 M KCl"'


Part = tuple[list[str], list[str]]


def solution_tables(rows: Sequence[GuessedRow], known: Known) -> Part:
    """[solutions] that the study does not have yet."""
    lines: list[str] = []
    questions: list[str] = []
    for name, row in sorted(new_solutions(rows, known).items()):
        lines += ["", f"[solutions.{_key(name)}]"]
        if row.medium:
            lines.append(f"description = {_text(row.medium)}  # guessed from the names of the files")
        else:
            lines.append(f'description = "{BLANK}"  # such as "0.1 mol/L phosphate buffer"')
        oxygen = row.air or ("removed" if _aired(rows, known) else "")
        told = "guessed from the names of the files" if row.air else "guessed: other files speak of air"
        lines.append(
            f'oxygen = "{oxygen}"  # {told}' if oxygen else '# oxygen = "removed"  # or "air": only you know'
        )
        lines.append("# ph = 7.0")
        questions.append(f"study.toml, solutions.{name}: what is it, was oxygen removed, and what is its pH?")
    return lines, questions


def oxygen_table(rows: Sequence[GuessedRow], known: Known) -> Part:
    """[confounders.oxygen], where a new solution holds air."""
    if not any(row.air == "air" for row in new_solutions(rows, known).values()):
        return [], []
    return [
        "",
        "[confounders.oxygen]",
        f'level = "{BLANK}"  # the level expected in real samples; water in equilibrium with air at 25 °C has about 0.26 mmol/L',
    ], ["study.toml, confounders.oxygen.level: which level of dissolved oxygen will real samples have?"]


def new_solutions(rows: Sequence[GuessedRow], known: Known) -> dict[str, GuessedRow]:
    """The solutions of the rows that the study does not have yet, each with a row that is in it."""
    found = {row.cells["solution"]: row for row in rows if row.cells.get("solution", BLANK) != BLANK}
    return {name: row for name, row in found.items() if name not in known.solutions}


def _aired(rows: Sequence[GuessedRow], known: Known) -> bool:
    return any(row.air == "air" for row in new_solutions(rows, known).values()) or any(
        table.get("oxygen") == "air" for table in known.solutions.values()
    )


START_VOLUME = (
    f'start_volume = "{BLANK}"  # the volume of solution before the first addition, such as "20 mL"'
)


def volume_table(rows: Sequence[GuessedRow]) -> Part:
    """[analysis.amperometry] with the volume that additions are made to, where a row has a log of them."""
    if not any(row.cells.get("log") for row in rows):
        return [], []
    return ["", "[analysis.amperometry]", START_VOLUME], [
        "study.toml, analysis.amperometry.start_volume: how much solution was there before the first addition?"
    ]


def new_electrodes(rows: Sequence[GuessedRow], known: Known) -> list[str]:
    """The electrodes of the rows that the study does not have yet."""
    names = dict.fromkeys(row.cells["electrode"] for row in rows if row.cells["electrode"] != BLANK)
    return [name for name in names if name not in known.electrodes]


def electrode_tables(rows: Sequence[GuessedRow], known: Known) -> Part:
    """[electrodes] that the study does not have yet; material and role as those named alike have them."""
    names = new_electrodes(rows, known)
    lines: list[str] = []
    for name in names:
        made, alike = made_of(name), known.material(name)
        told = "from those named alike" if alike[0] else "from the name"
        lines += [
            "",
            f"[electrodes.{_key(name)}]",
            f"material = {_text(alike[0] or made.material)}  # guessed {told}",
        ]
        lines += [
            f'role = "{alike[1] or made.role}"  # guessed: candidate, bare, control or bulk',
            f'area = "{BLANK}"  # such as "0.0707 cm^2"',
        ]
    questions = [
        f"study.toml, electrodes: the geometric area of each ({listed(names)}).",
        "study.toml, electrodes: are material and role right; which recipe, batch, and steps done or left out (factors)?",
        "study.toml, electrodes: the metal's molar mass and density, electrons and charge of the deposition, where they are known.",
    ]
    return lines, questions if names or not known.electrodes else []


def row_guesses(rows: Sequence[GuessedRow]) -> list[str]:
    """One sentence a column and what it was guessed from, with the number of rows."""
    sources: dict[tuple[str, str], int] = {}
    for row in rows:
        for column, told_by in row.guessed.items():
            sources[column, told_by] = sources.get((column, told_by), 0) + 1
    return [
        f"runs.csv, column {column}: {count(number, 'row')} from {told_by}."
        for (column, told_by), number in sources.items()
    ]


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _text(name)
