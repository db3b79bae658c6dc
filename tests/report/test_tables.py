from __future__ import annotations

import math
from dataclasses import replace

from halfcell.report.tables import by_electrode, findings_table, heading, label, place_of, shown_value


def test_a_table_by_electrode_has_a_column_for_each_condition(analysis):
    table = by_electrode("t", analysis.findings, ("test_size", "test_false"))
    assert table.head == (
        "electrode",
        "group",
        "particle diameter / nm",
        "false nitrite / µM (nitrate)",
        "false nitrite / µM (oxygen)",
    )
    assert table.rows == (("Ni-1", "nickel", "57.0 ± 1.2", "3.10 ± 0.60", "8.10 ± 0.60"),)


def test_what_an_electrode_lacks_is_a_dash(analysis):
    table = by_electrode("t", analysis.findings, ("test_slope", "test_size"))
    assert [row[-1] for row in table.rows] == ["57.0 ± 1.2", "–", "–"]


def test_words_carry_their_probability(analysis):
    (word, sure) = analysis.findings.named("test_class")
    assert shown_value(word) == "peak (p = 0.970)"
    assert "p =" not in shown_value(sure)


def test_counts_are_whole_numbers(analysis):
    (slope, *_) = analysis.findings.named("test_slope")
    count = replace(slope, value=2.0, standard_uncertainty=math.nan, unit="1")
    assert shown_value(count) == "2"
    assert shown_value(replace(count, standard_uncertainty=0.25)) == "2.00 ± 0.25"
    assert shown_value(replace(count, value=1.25)) == "1.25"


def test_labels_and_places(analysis):
    assert heading("test_slope") == "sensitivity / µA mM⁻¹"
    assert label("never_heard_of") == "never heard of"
    assert [place_of(f) for f in analysis.findings.named("test_size")] == ["Made"]


def test_a_table_of_nothing_keeps_its_head():
    table = findings_table("t", ())
    assert len(table.head) == 5
    assert table.rows == ()
