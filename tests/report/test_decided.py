"""The report of a study that was compared and chosen from, end to end from a table of findings."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest

from halfcell.cache import Cache
from halfcell.choice.choose import choose
from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.comparison.compare import compare
from halfcell.finding import Findings
from halfcell.pipeline.decides.findings import comparison_findings
from halfcell.report.html import html_report
from halfcell.report.parts.compares import told
from halfcell.report.spreadsheet import spreadsheet


@pytest.fixture
def decided(analysis):
    rng = np.random.default_rng(3)
    first = analysis.findings.rows[0]
    rows, attributes = [], {}
    for group, mean in (("nickel", 12.0), ("ruthenium", 30.0)):
        for i in range(4):
            name = f"{group[:2].title()}-{i + 1}"
            attributes[name] = {"material": group, "role": "candidate"}
            rows.append(
                replace(
                    first, electrode=name, group=group, value=mean + rng.normal(), standard_uncertainty=0.3
                )
            )
    findings = Findings(tuple(rows), attributes)
    unit = "uA/(mmol/L)"
    want = Want(finding="test_slope", aim="maximise", low=5.0, high=40.0, unit=unit)
    must = Must(finding="test_slope", at_least=8.0, unit=unit)
    choice = choose(findings, Criteria(musts=(must,), wants=(want,)), count=500, seed=1)
    return replace(analysis, findings=findings, comparisons=(compare(findings, "test_slope"),), choice=choice)


def test_the_verdict_is_on_the_first_page(decided):
    page = html_report(decided, figures=0, cache=Cache(None)).html
    verdict = page.index('class="tone verdict"')
    assert verdict < page.index('id="methods"')
    assert "ruthenium goes forward" in page[verdict : verdict + 600].lower()
    assert page.index('id="chooses"') < verdict


def test_groups_and_choice_are_in_the_workbook(decided):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.load_workbook(io.BytesIO(spreadsheet(decided)))
    groups = list(book["Groups"].iter_rows(values_only=True))
    assert [row[3] for row in groups[1:]] == ["nickel", "ruthenium"]
    assert groups[2][4] == 4
    assert groups[2][5] == pytest.approx(30.0, abs=2.0)
    assert groups[1][12] != groups[2][12]
    said = " ".join(
        row[3] for row in book["Choice"].iter_rows(min_row=2, values_only=True) if row[0] == "explanation"
    )
    assert "ruthenium" in said.lower()


@pytest.mark.parametrize(
    ("fields", "says"),
    [(1, "each of the electrodes has one value"), (3, "with 3 values an electrode as now")],
)
def test_numbers_needed_say_how_they_were_found(analysis, fields, says):
    rng = np.random.default_rng(5)
    first = analysis.findings.rows[0]
    electrodes = {
        f"{g}-{i}": {"material": g, "role": "candidate"} for g in ("nickel", "copper") for i in range(4)
    }
    rows = tuple(
        replace(
            first, electrode=e, group=known["material"], condition=f"{e} field {k}", value=12 + rng.normal()
        )
        for e, known in electrodes.items()
        for k in range(fields)
    )
    compared = compare(Findings(rows, electrodes), "test_slope")
    assert not compared.pairs[0].different
    (pairs,) = [t for t in told(compared).tables if t.title == "Pairs"]
    assert says in pairs.note
    (needed,) = [f for f in comparison_findings((compared,)) if f.name == "electrodes_needed"]
    assert any("by simulation" in n for n in needed.notes) == (fields > 1)
