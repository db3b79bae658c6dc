from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from halfcell.app.threads import Threads
from halfcell.finding import Finding, Findings
from halfcell.units import number


def _finding(
    electrode: str, condition: str, value: float, name: str = "peak_current", text: str = ""
) -> Finding:
    return Finding(
        name=name, value=value, standard_uncertainty=0.1, unit="uA", electrode=electrode, group="nickel", text=text,
        condition=condition, recordings=("a.csv",), method="m", source="s",
    )  # fmt: skip


FOUND = (
    _finding("Ni-1", "1 mmol/L", 12.3),
    _finding("Ni-1", "2 mmol/L", 12.3),
    _finding("Ni-2", "1 mmol/L", 12.3),
    _finding("Ni-2", "", 4.5),
    _finding("Ni-2", "1 mmol/L", 4.5),
)


def threads() -> Threads:
    analysis: Any = SimpleNamespace(findings=Findings(FOUND))
    return Threads.of(analysis)


def test_a_cell_leads_to_the_finding_of_the_electrode_in_its_row() -> None:
    head = ("electrode", "peak current / µA")
    assert threads().key(head, ("Ni-2", "12.30 ± 0.10"), 1) == FOUND[2].key
    assert threads().key(head, ("Ni-2", "12.30 ± 0.10 µA"), 1) == FOUND[2].key
    assert threads().key(head, ("Ni-2", "12.31 ± 0.10"), 1) == ""
    assert threads().key(head, ("Ni-3", "12.30 ± 0.10"), 1) == ""


def test_of_two_printed_alike_the_condition_tells_or_nothing_is_linked() -> None:
    head = ("electrode", "condition", "peak current / µA")
    assert threads().key(head, ("Ni-1", "2 mmol/L", "12.30 ± 0.10"), 2) == FOUND[1].key
    assert threads().key(("electrode", "peak current / µA"), ("Ni-1", "12.30 ± 0.10"), 1) == ""
    assert threads().key(("electrode", "peak current / µA"), ("Ni-2", "4.50 ± 0.10"), 1) == FOUND[3].key


def test_without_an_analysis_there_are_no_threads() -> None:
    assert Threads.of(None).key(("a", "b"), ("Ni-1", "1.0"), 1) == ""


def test_a_value_alone_is_linked_only_where_head_or_row_tell_what_it_is() -> None:
    assert threads().key(("electrode", "electrodes"), ("Ni-2", number(4.5)), 1) == ""
    head = ("electrode", "Peak current, 1 mmol/L / µA")
    assert threads().key(head, ("Ni-2", number(4.5)), 1) == FOUND[4].key
    assert threads().key(head, ("Ni-2", f"{number(4.5)} *"), 1) == FOUND[4].key


def test_a_count_is_linked_only_where_head_or_row_tell_what_it_is() -> None:
    count = replace(_finding("Ni-1", "", 3.0, name="particles_counted"), standard_uncertainty=0.0, unit="1")
    analysis: Any = SimpleNamespace(findings=Findings((count,)))
    assert Threads.of(analysis).key(("electrode", "electrodes"), ("Ni-1", "3"), 1) == ""
    assert Threads.of(analysis).key(("electrode", "Particles counted"), ("Ni-1", "3"), 1) == count.key
