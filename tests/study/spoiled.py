"""A study folder with many different mistakes, and where each must be named."""

from __future__ import annotations

from pathlib import Path

SPOILED_STUDY = """\
format = 1
analyt = "nitrite"
reference_electrode = 3
temperature = 25
group_by = "materal"

[electrodes.Ni-1]
material = "nickel"
area = 0.07 cm^2
rol = "bare"

[electrodes.Cu-1]
material = "copper"
area = "0.07 V"
role = "control group"

[solutions.air]
oxygen = "stated"
confounder = "O2"

[readers.odd]
files = "*.txt"
columns = { potentail = 1 }

[analysis]
confidence = 95

[[choice.musts]]
finding = "sensitivty"
at_most = "3 uA/(mmol/L)"

[[choice.musts]]
finding = "sensitivity"
at_most = "3 V"

[[choice.wants]]
finding = "sensitivity"
aim = "maximise"
low = "9 uA/(mmol/L)"
high = "2 uA/(mmol/L)"
weight = 0
"""

SPOILED_RUNS = """\
file;electrode;technique;solution;concentration;Scan rate;colour
data/a.csv;Ni-2;cyclic voltammogram;air;;50 mV/s;
data/ni1_blank.csv;Ni-1;cyclc voltammogram;air;;50 mV/s;
data/ni1_blank.csv;Ni-1;cyclic voltammogram;airr;;0,05;
../b.csv;Ni-1;cyclic voltammogram;air;;50 mV/s;
C:\\x.csv;Ni-1;cyclic voltammogram;air;;50 mV;

/etc/x.csv;Ni-1;cyclic voltammogram;air;1 mmol/L;50 mV/s;red;blue
"""

SPOILED_DECISIONS = """\
[[adjustment]]
kind = "baseline windo"
file = "data/zz.csv"

[[adjustment]]
kind = "reject point"
file = "data/ni1_blank.csv"
electrode = "Ni-9"
concentration = "1 mmol/L"
"""

EVERY_MISTAKE = [
    ("study.toml", "line 9", "quotes"),
    ("study.toml", "analyte", "missing"),
    ("study.toml", "analyt (line 2)", "did you mean 'analyte'"),
    ("study.toml", "reference_electrode", "bare number"),
    ("study.toml", "temperature", "no unit"),
    ("study.toml", "group_by", "did you mean 'material'"),
    ("study.toml", "electrodes.Ni-1.rol (line 10)", "did you mean 'role'"),
    ("study.toml", "electrodes.Cu-1.area", "'V'"),
    ("study.toml", "electrodes.Cu-1.role", "did you mean 'control'"),
    ("study.toml", "solutions.air", "its concentration is missing"),
    ("study.toml", "solutions.air.confounder", "not in [confounders]"),
    ("study.toml", "solutions.air", "without its concentration"),
    ("study.toml", "readers.odd.columns.potentail", "did you mean 'potential'"),
    ("study.toml", "analysis.confidence", "below 1"),
    ("study.toml", "choice.musts.1.finding", "did you mean 'sensitivity'"),
    ("study.toml", "choice.musts.2.at_most", "'V'"),
    ("study.toml", "choice.wants.1", "not below high"),
    ("study.toml", "choice.wants", "zero"),
    ("runs.csv", "headings", "'colour' is not known"),
    ("runs.csv", "row 2, column electrode", "did you mean 'Ni-1'"),
    ("runs.csv", "row 2, column file", "does not exist"),
    ("runs.csv", "row 3, column technique", "did you mean 'cyclic voltammogram'"),
    ("runs.csv", "row 4, column file", "already stands in row 3"),
    ("runs.csv", "row 4, column solution", "did you mean 'air'"),
    ("runs.csv", "row 4, column scan_rate", "no unit"),
    ("runs.csv", "row 5, column file", "leaves the study folder"),
    ("runs.csv", "row 6, column file", "absolute"),
    ("runs.csv", "row 6, column scan_rate", "'mV'"),
    ("runs.csv", "row 8, column file", "absolute"),
    ("runs.csv", "row 8", "more cells"),
    ("adjustments.toml", "adjustment.1", "did you mean 'baseline window'"),
    ("adjustments.toml", "adjustment.1.file", "'data/zz.csv'"),
    ("adjustments.toml", "adjustment.2.why", "missing"),
    ("adjustments.toml", "adjustment.2.electrode", "did you mean 'Ni-1'"),
]


def spoil(study: Path) -> None:
    (study / "study.toml").write_text(SPOILED_STUDY, encoding="utf-8")
    (study / "runs.csv").write_text(SPOILED_RUNS, encoding="utf-8")
    (study / "adjustments.toml").write_text(SPOILED_DECISIONS, encoding="utf-8")
