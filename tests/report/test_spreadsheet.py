from __future__ import annotations

import io
from dataclasses import replace

import pytest

from halfcell.finding import Findings
from halfcell.report.spreadsheet import spreadsheet

openpyxl = pytest.importorskip("openpyxl")


def opened(analysis):
    return openpyxl.load_workbook(io.BytesIO(spreadsheet(analysis)))


def test_the_sheets_and_their_first_rows(analysis):
    book = opened(analysis)
    assert book.sheetnames == ["Findings", "Groups", "Choice", "Files", "Methods"]
    rows = list(book["Findings"].iter_rows(values_only=True))
    assert len(rows) == 1 + len(analysis.findings)
    head = rows[0]
    first = dict(zip(head, rows[1], strict=True))
    assert first["value"] == 12.345
    assert first["standard uncertainty"] == 0.4
    assert first["unit"] == "uA/(mmol/L)"
    assert first["recordings"] == "data/ni1.csv"


def test_numbers_that_do_not_exist_are_empty_cells(analysis):
    rows = list(opened(analysis)["Findings"].iter_rows(values_only=True))
    word = next(r for r in rows if r[1] == "test_class")
    assert word[7] is None


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0", "\t=1", "\r=1"])
def test_text_never_becomes_a_formula(analysis, text):
    row = replace(analysis.findings.rows[0], condition=text)
    book = opened(replace(analysis, findings=Findings((row,))))
    cell = book["Findings"].cell(row=2, column=6)
    assert cell.data_type == "s"
    assert cell.value.strip() == text.strip()
    assert cell.quotePrefix


def test_control_characters_and_endless_texts_do_not_break_the_file(analysis):
    row = replace(analysis.findings.rows[0], condition="a\x00b\x0b", notes=("x" * 100_000,))
    cells = list(
        opened(replace(analysis, findings=Findings((row,))))["Findings"].iter_rows(values_only=True)
    )[1]
    assert cells[5] == "a\ufffdb\ufffd"
    assert len(cells[-1]) == 32_000
