"""docs/study-folder.md, written from the model: every key and column with its example and meaning."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from halfcell.study.adjustments import Adjustment
from halfcell.study.fields import takes
from halfcell.study.model import Run, StudyFile

_INTRO = """\
# The study folder

A study is a folder. `halfcell check FOLDER` says everything that is wrong with it, and nothing in it is ever
executed or fetched.

| File | What it holds |
|---|---|
| `study.toml` | what is asked and what was made |
| `runs.csv` | one row a raw file |
| `data/`, `images/` | the raw files; never written to |
| `notes/` | whatever else belongs to the study; never read |
| `adjustments.toml` | what a person decided by hand; absent if nothing |
| `intake.csv` | where each file was copied from, with its sha256; written by `halfcell intake` and `halfcell add` |
| `report/` | what was written out; safe to delete |

A quantity is text with its unit: `"50 mV/s"`, `"0.0707 cm^2"`, `"1 mmol/L"`. A bare number where a unit is
needed is an error; a decimal comma is understood, save where it may part thousands (`1,000 umol/L`). Units are spelled as on the bench (`uA`, `µA`, `mM`,
`umol/L`, `cm^2`, `cm²`, `degC`). `"?"` may stand for an answer that is still to be given: the check asks for it.
An unknown key is an error that names the nearest known one. Needed keys are marked with a star.

The rules for programs that read or write a study stand in the
[written format](../src/halfcell/study/format.md).

The smallest study:

```toml
format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"

[solutions.buffer]
description = "0.1 mol/L phosphate buffer"
oxygen = "removed"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"
```

```csv
file,electrode,technique,solution,concentration,scan_rate
data/ni1_blank.csv,Ni-1,cyclic voltammogram,buffer,,50 mV/s
data/ni1_1mM.csv,Ni-1,cyclic voltammogram,buffer,1 mmol/L,50 mV/s
```
"""


def reference_page() -> str:
    """The page as Markdown; the same on every machine."""
    parts = [_INTRO, "\n## study.toml\n"]
    for title, model in tables():
        parts.append(f"\n### {title}\n\n{_sentence(model)}\n\n{_table(model)}")
    parts.append(f"\n## runs.csv\n\n{_RUNS}\n\n{_table(Run)}")
    parts.append(f"\n## adjustments.toml\n\n{_DECISIONS}\n")
    parts += [f"\n### {_kind(model)}\n\n{_sentence(model)}\n\n{_table(model)}" for model in decisions()]
    return "".join(parts)


_RUNS = (
    "One row a raw file, with a row of headings, in any order. Comma, semicolon or tab; decimal point or comma; "
    "UTF-8 with or without byte-order mark, UTF-16 or Latin-1. Rows that are empty or begin with `#` are passed over. "
    "Paths are relative to the study folder, with slashes. An empty cell means that nothing is stated."
)
_DECISIONS = (
    "One `[[adjustment]]` a decision, replayed in the order of the file. Each names its kind, what it is about, "
    "and may say who decided it, when and why."
)


def tables() -> Iterator[tuple[str, type[BaseModel]]]:
    """Every table of study.toml with its heading, the whole file first."""
    yield "At the top", StudyFile
    yield from _below("", StudyFile)


def decisions() -> tuple[type[BaseModel], ...]:
    """The models of all kinds of decision."""
    union = get_args(Adjustment)[0]
    return tuple(get_args(union))


def _below(prefix: str, model: type[BaseModel]) -> Iterator[tuple[str, type[BaseModel]]]:
    for name, field in model.model_fields.items():
        key = f"{prefix}{name}"
        for inner, shape in _tables_in(field.annotation):
            title = {"table": f"[{key}]", "named": f"[{key}.NAME]", "list": f"[[{key}]]"}[shape]
            yield title, inner
            yield from _below(f"{key}." if shape != "named" else f"{key}.NAME.", inner)


def _tables_in(kind: Any) -> Iterator[tuple[type[BaseModel], str]]:
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        yield from _tables_in(inner[0])
    elif isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind, "table"
    elif origin is dict:
        yield from ((m, "named") for m, _ in _tables_in(inner[1]))
    elif origin is list:
        yield from ((m, "list") for m, _ in _tables_in(inner[0]))
    elif origin is not None and type(None) in inner:
        for part in inner:
            yield from _tables_in(part)


def _kind(model: type[BaseModel]) -> str:
    return str(get_args(model.model_fields["kind"].annotation)[0])


def _sentence(model: type[BaseModel]) -> str:
    return " ".join((model.__doc__ or "").split())


def _table(model: type[BaseModel]) -> str:
    rows = ["| Key | Takes | Example | Without it | Meaning |", "|---|---|---|---|---|"]
    for name, field in model.model_fields.items():
        if any(True for _ in _tables_in(field.annotation)):
            continue  # a table of its own
        star = " *" if field.is_required() else ""
        told = takes(field)
        cells = (f"`{name}`{star}", told.what, f"`{told.example}`", _default(field), field.description or "")
        rows.append("| " + " | ".join(" ".join(cell.split()).replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(rows) + "\n"


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "an error"
    value = field.get_default(call_default_factory=True)
    if value in (None, "", [], {}):
        return ""
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    for mark in field.metadata:
        if hasattr(mark, "write"):
            return f'`"{mark.write(value)}"`'
    return f"`{value}`" if isinstance(value, (int, float)) else f'`"{value}"`'
