"""Musts, ranking and what the choice hangs on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from choice.known_truth import finding, study, usual
from halfcell.cache import decode, encode
from halfcell.choice.choose import choose
from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.errors import MethodError
from halfcell.finding import Findings
from halfcell.results import same

CLEAR = {
    "Ni": {
        "sensitivity": (30.0, 1.0),
        "limit_of_detection": (2.0, 0.1),
        "false_concentration @ oxygen": (2.0, 1.0),
    },
    "Ru": {
        "sensitivity": (15.0, 1.0),
        "limit_of_detection": (4.0, 0.2),
        "false_concentration @ oxygen": (5.0, 1.0),
    },
    "Cu": {
        "sensitivity": (38.0, 1.0),
        "limit_of_detection": (1.0, 0.1),
        "false_concentration @ oxygen": (120.0, 5.0),
    },
}


def test_a_clear_study() -> None:
    choice = choose(study(CLEAR), usual())
    assert choice.leader == "Ni"
    assert choice.failed == ("Cu",)
    assert choice.proven
    assert choice.ranked[0].best > 0.99
    assert choice.versus[0].real
    assert [d.leader for d in choice.dropped] == ["Cu"]
    assert choice.dropped[0].changes


def test_a_choice_is_plain_data() -> None:
    choice = choose(study(CLEAR), usual())
    assert same(decode(encode(choice)), choice)


def test_the_same_seed_gives_the_same_choice() -> None:
    a, b = choose(study(CLEAR), usual(), seed=3), choose(study(CLEAR), usual(), seed=3)
    assert [r.desirability for r in a.ranked] == [r.desirability for r in b.ranked]


def test_weight_turning_point_is_exact() -> None:
    truth = {
        "A": {
            "sensitivity": (30.0, 0.3),
            "limit_of_detection": (6.0, 0.05),
            "false_concentration @ oxygen": (1, 0.1),
        },
        "B": {
            "sensitivity": (15.0, 0.3),
            "limit_of_detection": (1.0, 0.05),
            "false_concentration @ oxygen": (1, 0.1),
        },
    }
    table, criteria = study(truth), usual(weights=(3.0, 1.0))
    choice = choose(table, criteria)
    (first, second) = choice.weights
    assert choice.leader == "A"
    assert first.down is not None
    assert second.up is not None
    for name, weight, step in (("sensitivity", first.down, 1.0), ("limit_of_detection", second.up, -1.0)):
        at = [
            choose(table, criteria.weighted({name: weight + step * d}), count=200).leader
            for d in (1e-6, -1e-6)
        ]
        assert at == ["A", "B"]


def test_musts_by_interval() -> None:
    rows = tuple(finding("limit_of_detection", f"Ni-{i}", v) for i, v in enumerate((4.8, 5.0, 5.2)))
    table = Findings(rows, {f.electrode: {"material": "Ni", "role": "candidate"} for f in rows})

    def verdict(limit: float) -> str:
        return (
            choose(table, Criteria(musts=(Must(finding="limit_of_detection", at_most=limit, unit="umol/L"),)))
            .musts[0]
            .verdict
        )

    half = 4.302653 * 0.2 / math.sqrt(3)
    assert [verdict(5 + half + 1e-3), verdict(5 + half - 1e-3), verdict(5 - half - 1e-3)] == [
        "passed",
        "undecided",
        "failed",
    ]


def test_settling_an_undecided_must() -> None:
    rng = np.random.default_rng(1)
    found = []
    for more in (0, 1):
        rows = tuple(finding("limit_of_detection", f"Ni-{i}", v) for i, v in enumerate((4.0, 4.5, 5.0)))
        table = Findings(rows, {f.electrode: {"material": "Ni"} for f in rows})
        result = choose(
            table, Criteria(musts=(Must(finding="limit_of_detection", at_most=5.1, unit="umol/L"),))
        ).musts[0]
        assert result.settling is not None
        assert result.settling.more is not None
        n = 3 + result.settling.more - more
        x = rng.normal(4.5, 0.5, (4000, n))
        from scipy import special

        high = x.mean(1) + special.stdtrit(n - 1, 0.975) * x.std(1, ddof=1) / math.sqrt(n)
        found.append(float((high < 5.1).mean()))
    assert found[0] >= 0.78
    assert found[1] < 0.8


def test_one_electrode_decides_no_must() -> None:
    choice = choose(study(CLEAR, n={"Ni": 1, "Ru": 4, "Cu": 4}), usual())
    assert [r.verdict for r in choice.musts if r.candidate == "Ni"] == ["undecided"]
    assert any("one electrode" in n for n in choice.notes)
    assert not choice.proven


def test_words() -> None:
    truth = {m: {"sensitivity": (20.0, 1.0)} for m in ("A", "B", "C")}
    table = study(truth, words={"A": ["peak"], "B": ["wave"], "C": ["peak", "wave"]})
    choice = choose(
        table,
        Criteria(
            musts=(Must(finding="response_class", equals="peak"),),
            wants=(Want(finding="sensitivity", aim="maximise", low=0, high=40),),
        ),
    )
    assert {r.candidate: r.verdict for r in choice.musts} == {"A": "passed", "B": "failed", "C": "undecided"}


def test_every_condition_of_a_must_without_one() -> None:
    truth = {
        "A": {
            "false_concentration @ oxygen": (1.0, 0.1),
            "false_concentration @ nitrate": (90.0, 1.0),
            "sensitivity": (1, 0.1),
        }
    }
    choice = choose(
        study(truth), Criteria(musts=(Must(finding="false_concentration", at_most=20, unit="umol/L"),))
    )
    assert [r.verdict for r in choice.musts] == ["passed", "failed"]
    assert choice.failed == ("A",)


def test_a_condition_by_its_word_and_an_unknown_one() -> None:
    truth = {
        "A": {"false_concentration @ oxygen, 260 µM": (1.0, 0.1)},
        "B": {"false_concentration @ oxygen, 260 µM": (1.0, 0.1)},
    }
    must = Must(finding="false_concentration", condition="oxygen", at_most=20, unit="umol/L")
    assert choose(study(truth), Criteria(musts=(must,))).musts[0].verdict == "passed"
    with pytest.raises(MethodError, match="has no condition 'chloride'"):
        choose(
            study(truth),
            Criteria(musts=(Must(finding="false_concentration", condition="chloride", at_most=20),)),
        )


def test_a_candidate_without_a_wanted_finding_is_said_to_be_unranked() -> None:
    table = study(CLEAR)
    table = Findings(
        tuple(f for f in table if not (f.name == "sensitivity" and f.group == "Ru")), table.attributes
    )
    choice = choose(table, usual())
    assert choice.unranked == ("Ru",)
    assert any("Ru cannot be ranked" in n for n in choice.notes)


def test_group_level_findings_serve_as_criteria() -> None:
    table = study(CLEAR)
    from dataclasses import replace

    extra = [
        replace(finding("between_electrode_rsd", f"{m}-1", v, 1.0), electrode="", group=m)
        for m, v in (("Ni", 5.0), ("Ru", 25.0), ("Cu", 5.0))
    ]
    table = table.plus(extra)
    choice = choose(table, Criteria(musts=(Must(finding="between_electrode_rsd", at_most=10.0),)))
    assert {r.candidate: r.verdict for r in choice.musts} == {"Ni": "passed", "Ru": "failed", "Cu": "passed"}


def test_controls_are_no_candidates() -> None:
    choice = choose(study(CLEAR, roles={"Ru": "control"}), usual())
    assert choice.candidates == ("Cu", "Ni")
    with pytest.raises(MethodError, match="No electrode is a candidate"):
        choose(study(CLEAR, roles=dict.fromkeys(CLEAR, "bare")), usual())


def test_unknown_weight() -> None:
    with pytest.raises(MethodError, match="No want is about 'sensitivty'"):
        usual().weighted({"sensitivty": 2.0})


def test_correlated_findings_are_kept_together() -> None:
    """Sensitivity and a finding proportional to it: the draws keep their correlation."""
    from halfcell.choice.draws import draw
    from halfcell.choice.estimates import Column, estimate

    rng = np.random.default_rng(2)
    rows, attributes = [], {}
    for m in ("A", "B", "C"):
        for i in range(6):
            e = f"{m}-{i}"
            s = rng.normal(10, 1)
            rows += [finding("sensitivity", e, s), finding("limit_of_detection", e, 20 / s)]
            attributes[e] = {"material": m}
    table = Findings(tuple(rows), attributes)
    columns = [Column(finding="sensitivity"), Column(finding="limit_of_detection")]
    found = [estimate(table, c, ("A", "B", "C"), "material") for c in columns]
    draws = draw([[f[m] for f in found] for m in ("A", "B", "C")], 4000, 0)
    assert draws.correlation[0, 1] < -0.7
    assert np.corrcoef(draws.means[:, 0, 0], draws.means[:, 0, 1])[0, 1] < -0.5
    for i, m in enumerate(("A", "B", "C")):
        assert draws.means[:, i, 0].mean() == pytest.approx(found[0][m].mean.value, abs=0.1)
