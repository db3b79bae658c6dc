"""Which findings are repeats of one another, and which tell different things."""

from __future__ import annotations

import pytest

from halfcell.choice.estimates import conditions_for
from halfcell.comparison.samples import gather
from halfcell.finding import Finding, Findings


def table(name: str, *rows: tuple[str, str, float]) -> Findings:
    """Findings of one name: electrode, condition, value."""
    found = tuple(
        Finding(
            name=name, value=value, standard_uncertainty=0.1, unit="umol/L", electrode=electrode, group="nickel",
            condition=condition, method="m", source="s",
        )
        for electrode, condition, value in rows
    )  # fmt: skip
    return Findings(found, {e: {"material": "nickel"} for e, _, _ in rows})


def only(findings: Findings, name: str, condition: str) -> list[float]:
    (group,) = gather(findings, name, condition=condition).groups
    return [sample.value for sample in group.samples]


def test_two_confounders_on_one_electrode_are_not_averaged() -> None:
    findings = table("false_concentration", ("Ni-1", "oxygen", 1.0), ("Ni-1", "nitrate", 99.0))
    assert only(findings, "false_concentration", "oxygen") == [1.0]
    assert only(findings, "false_concentration", "nitrate") == [99.0]
    assert conditions_for(findings, "false_concentration", None) == ("oxygen", "nitrate")


def test_each_electrode_with_another_confounder() -> None:
    findings = table("false_concentration", ("Ni-1", "oxygen", 1.0), ("Ni-2", "nitrate", 99.0))
    assert only(findings, "false_concentration", "oxygen") == [1.0]


@pytest.mark.parametrize("asked", ["oxygen", "oxy"])
def test_a_must_finds_the_condition_of_a_single_electrode(asked: str) -> None:
    findings = table("false_concentration", ("Ni-1", "oxygen", 1.0))
    assert conditions_for(findings, "false_concentration", asked) == ("oxygen",)


def test_fields_of_one_electrode_stay_repeats() -> None:
    findings = table("particle_diameter", ("Ni-1", "a.png", 1.0), ("Ni-1", "b.png", 3.0))
    assert only(findings, "particle_diameter", "") == [2.0]
