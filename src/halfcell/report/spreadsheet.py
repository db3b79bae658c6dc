"""The findings as a spreadsheet with typed cells; text never becomes a formula."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from halfcell.report.appendix import files_table
from halfcell.report.methods_text import methods_used, setting_text
from halfcell.report.tables import label, place_of
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from openpyxl import Workbook

    from halfcell.pipeline.outcome import Analysis

__all__ = ["spreadsheet"]

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_LONGEST = 32_000
"""Characters of a cell, below the format's limit of 32,767 (ECMA-376; from memory)."""


def spreadsheet(analysis: Analysis) -> bytes:
    """An XLSX workbook: Findings, Groups, Choice, Files, Methods."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    _sheet(book, "Findings", *_findings(analysis))
    _sheet(book, "Groups", *_groups(analysis))
    _sheet(book, "Choice", *_choice(analysis))
    files = files_table(analysis)
    _sheet(book, "Files", files.head, files.rows)
    rows = [
        (
            u.name,
            u.sentence,
            u.formula,
            u.source,
            ", ".join(u.findings),
            "; ".join(f"{k} = {v}" for k, v in u.settings),
        )
        for u in methods_used(analysis)
    ]
    _sheet(book, "Methods", ("method", "what was done", "formula", "source", "findings", "settings"), rows)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _findings(analysis: Analysis) -> tuple[Sequence[str], list[Sequence[Any]]]:
    head = (
        "question", "name", "finding", "electrode", "group", "condition", "value", "standard uncertainty",
        "degrees of freedom", "unit", "word", "method", "source", "recordings", "settings", "notes",
    )  # fmt: skip
    rows: list[Sequence[Any]] = []
    for f in analysis.findings:
        made = (f.method, f.source, "; ".join(f.recordings), setting_text(f.settings), "; ".join(f.notes))
        numbers = (f.value, f.standard_uncertainty, f.degrees_of_freedom)
        rows.append(
            (
                place_of(f),
                f.name,
                label(f.name),
                f.electrode,
                f.group,
                f.condition,
                *numbers,
                f.unit,
                f.text,
                *made,
            )
        )
    return head, rows


def _groups(analysis: Analysis) -> tuple[Sequence[str], list[Sequence[Any]]]:
    """Every group of every comparison, in the unit of its finding."""
    head = (
        "finding", "condition", "grouped by", "group", "electrodes", "mean", "standard uncertainty", "standard deviation",
        "interval low", "interval high", "level", "unit", "letters", "test", "remark",
    )  # fmt: skip
    rows: list[Sequence[Any]] = []
    for c in analysis.comparisons:
        for g in (*c.groups, *c.apart):
            remark = "" if g in c.groups else "shown, not tested"
            numbers = (g.n, g.mean.value, g.mean.u, g.s, g.interval.low, g.interval.high, c.level)
            rows.append(
                (label(c.finding), c.condition, c.by, g.name, *numbers, c.unit, g.letters, c.test, remark)
            )
    return head, rows


def _choice(analysis: Analysis) -> tuple[Sequence[str], list[Sequence[Any]]]:
    """The explanation first, then the findings of the choice."""
    head = ("what", "about", "condition", "in words", "value", "standard uncertainty", "unit")
    rows: list[Sequence[Any]] = [
        ("explanation", "", "", line, None, None, "") for line in _explanation(analysis)
    ]
    rows += [
        (label(f.name), f.group or f.electrode, f.condition, f.text, f.value, f.standard_uncertainty, f.unit)
        for f in analysis.findings
        if f.name in TERMS and place_of(f) == "Chooses"
    ]
    return head, rows


def _explanation(analysis: Analysis) -> list[str]:
    if analysis.choice is None:
        return ["No choice was made."]
    from halfcell.choice.explanation import explain

    return [claim.text for claim in explain(analysis.choice)]


def _sheet(book: Workbook, title: str, head: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(title)
    widths = [len(h) for h in head]
    for r, row in enumerate((head, *rows), 1):
        for c, value in enumerate(row, 1):
            _write(sheet.cell(row=r, column=c), value)
            widths[c - 1] = max(widths[c - 1], min(len(str(value)) if isinstance(value, str) else 12, 48))
    for c, width in enumerate(widths, 1):
        sheet.cell(row=1, column=c).font = Font(bold=True)
        sheet.column_dimensions[get_column_letter(c)].width = width + 2
    sheet.freeze_panes = "A2"


def _write(cell: Any, value: Any) -> None:
    """A number as a number; everything else as text, also when it begins like a formula."""
    if value is None or value == "":
        return
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if math.isfinite(value):
            cell.value = value
        return
    cell.value = _CONTROL.sub("\ufffd", str(value))[:_LONGEST]
    cell.data_type = "s"
    if str(value)[:1] in {"=", "+", "-", "@", "\t", "\r"}:
        cell.quotePrefix = True
