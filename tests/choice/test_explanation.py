"""The explanation of constructed studies, read and held against their truth."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import pytest

from choice.known_truth import study, usual
from halfcell.choice.choose import Choice, choose
from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.choice.desirability import desirability, together
from halfcell.choice.explanation import explain, text
from halfcell.choice.wording import Claim
from halfcell.finding import Findings
from halfcell.pipeline.decides.findings import choice_findings

Truth = Mapping[str, Mapping[str, tuple[float, float]]]


def _t(sensitivity: float, lod: float, oxygen: float, s: float = 0.05) -> dict[str, tuple[float, float]]:
    return {
        "sensitivity": (sensitivity, s * sensitivity),
        "limit_of_detection": (lod, 1.5 * s * lod),
        "false_concentration @ oxygen": (oxygen, max(0.05 * oxygen, 0.5)),
    }


@dataclass(frozen=True)
class Case:
    truth: Truth
    n: int | Mapping[str, int] = 4
    criteria: Criteria = field(default_factory=usual)
    says: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    words: Mapping[str, list[str]] | None = None


PEAK = Criteria(musts=(*usual().musts, Must(finding="response_class", equals="peak")), wants=usual().wants)
TARGET = Criteria(
    wants=(Want(finding="sensitivity", aim="target", low=10, target=20, high=30, unit="uA/(mmol/L)"),)
)
CASES = {
    "one far ahead": Case({"A": _t(35, 1, 2), "B": _t(15, 5, 2), "C": _t(12, 6, 2)}, says=("A goes forward", "B is better|C has|B has|runner-up")),
    "two alike": Case({"A": _t(30, 2, 2), "B": _t(30, 2, 2), "C": _t(10, 8, 2)}, says=("not shown to be better", "no real difference"), kinds=("no difference",), never=("goes forward",)),
    "all alike": Case({m: _t(20, 3, 2) for m in "ABCD"}, kinds=("no difference",), never=("goes forward", "the difference is real")),
    "best one reads oxygen": Case({"A": _t(38, 1, 150), "B": _t(25, 3, 2), "C": _t(12, 6, 2)}, says=("B goes forward", "A is eliminated: false concentration", "Without “false concentration.*A would lead")),
    "all read oxygen": Case({"A": _t(38, 1, 150), "B": _t(25, 3, 90)}, says=("No candidate goes forward", "A is eliminated", "B is eliminated"), never=("leads", "goes forward: it")),
    "only one left": Case({"A": _t(20, 3, 2), "B": _t(30, 2, 90)}, says=("A goes forward: of 2 candidates it is the only one left",)),
    "only one candidate": Case({"A": _t(20, 3, 2)}, says=("A goes forward: of 1 candidate",)),
    "oxygen at the limit": Case({"A": {**_t(35, 1, 2), "false_concentration @ oxygen": (19.0, 3.0)}, "B": _t(15, 5, 2)}, kinds=("undecided",), never=("A goes forward", "A is eliminated")),
    "settled by a few more": Case({"A": {**_t(35, 1, 2), "false_concentration @ oxygen": (17.0, 6.0)}, "B": _t(15, 5, 2)}, kinds=("undecided",), says=(r"About \d+ more electrodes would settle it",)),
    "one electrode of the best": Case({"A": _t(35, 1, 2), "B": _t(15, 5, 2)}, n={"A": 1, "B": 4}, says=("undecided for A: one electrode", "still open"), never=("A goes forward",)),
    "two electrodes each": Case({"A": _t(30, 2, 2), "B": _t(28, 2.2, 2)}, n=2, never=("goes forward",)),
    "sensitive against detecting": Case({"A": _t(38, 6, 2), "B": _t(18, 1, 2)}, says=("A is better in sensitivity|B is better in sensitivity|better in limit of detection",), kinds=("weight",)),
    "weights cannot matter": Case({"A": _t(35, 1, 2), "B": _t(15, 5, 2)}, says=("keeps the lead whatever the weight", "No further electrode is needed")),
    "a wave": Case({"A": _t(35, 1, 2), "B": _t(25, 3, 2)}, criteria=PEAK, words={"A": ["wave"], "B": ["peak"]}, says=("A is eliminated: response class|A is eliminated: kind of response|A is eliminated", "0 of 4 electrodes", "B goes forward")),
    "electrodes disagree": Case({"A": _t(35, 1, 2), "B": _t(25, 3, 2)}, criteria=PEAK, words={"A": ["peak", "wave"], "B": ["peak"]}, says=("undecided for A: 2 of 4 electrodes",), never=("A goes forward", "A is eliminated")),
    "noisy": Case({"A": _t(30, 2, 2, 0.4), "B": _t(25, 3, 2, 0.4)}, never=("goes forward",), kinds=("no difference", "measure")),
    "a limit of detection that fails": Case({"A": _t(35, 8, 2), "B": _t(20, 3, 2)}, criteria=usual(lod=5), says=("A is eliminated: limit of detection", "at most 5 µM is allowed")),
    "a target": Case({"A": _t(20, 2, 2), "B": _t(28, 2, 2)}, criteria=TARGET, says=("A goes forward|A leads",)),
    "six candidates": Case({m: _t(10 + 5 * i, 6 - i, 2) for i, m in enumerate("ABCDEF")}, n=5, says=("F goes forward|F leads",)),
    "nothing wanted": Case({"A": _t(20, 2, 2), "B": _t(28, 2, 90)}, criteria=Criteria(musts=usual().musts), says=("No wants are stated", "B is eliminated")),
    "outside every range": Case({"A": {**_t(20, 12, 2)}, "B": {**_t(25, 15, 2)}}, never=("goes forward", "the difference is real")),
}  # fmt: skip


def _study(case: Case, seed: int) -> Findings:
    return study(case.truth, n=case.n, seed=seed, words=case.words)


def _score(case: Case, name: str) -> float:
    parts = [float(desirability(case.truth[name][w.finding][0], w)) for w in case.criteria.wants]
    return float(together(parts, [w.weight for w in case.criteria.wants]))


def _meets(case: Case, name: str) -> bool:
    for must in case.criteria.musts:
        if must.equals is not None:
            if case.words is None or set(case.words[name]) != {must.equals}:
                return False
            continue
        key = f"{must.finding} @ {must.condition}" if must.condition else must.finding
        if must.at_most is not None and case.truth[name][key][0] > must.at_most:
            return False
    return True


@pytest.mark.parametrize("name", CASES)
def test_what_it_says(name: str) -> None:
    case = CASES[name]
    claims = explain(choose(_study(case, 1), case.criteria))
    whole = " ".join(c.text for c in claims)
    for pattern in case.says:
        assert re.search(pattern, whole), (pattern, whole)
    for pattern in case.never:
        assert not re.search(pattern, whole), (pattern, whole)
    assert {c.kind for c in claims} >= set(case.kinds), whole
    assert not re.search(r"\bnan\b|\binf\b|None|  |\.\.|are the same|is the same", whole), whole


def _wrong(case: Case, choice: Choice, claims: tuple[Claim, ...]) -> tuple[int, int]:
    """How many claims the truth refutes, of how many it could."""
    checked = wrong = 0
    best = max((n for n in case.truth if _meets(case, n)), key=lambda n: _score(case, n), default="")
    for c in claims:
        if c.kind == "eliminated":
            checked, wrong = checked + 1, wrong + _meets(case, c.about[0])
        elif c.kind == "difference":
            checked, wrong = checked + 1, wrong + (_score(case, c.about[0]) <= _score(case, c.about[1]))
        elif c.kind == "verdict" and "goes forward: it meets" in c.text:
            checked, wrong = checked + 1, wrong + (c.about[0] != best)
        for who, what in re.findall(r"(\w) is better in (.*?)\.(?= |$)", c.text):
            (other,) = {*c.about} - {who}
            for want in case.criteria.wants:
                if want.label in what:
                    a, b = case.truth[who][want.finding][0], case.truth[other][want.finding][0]
                    checked, wrong = (
                        checked + 1,
                        wrong + (not ((a > b) if want.aim == "maximise" else (a < b))),
                    )
    return wrong, checked


def test_claims_hold_over_many_studies() -> None:
    """Over all cases and seeds at most 5 % of the claims are refuted by the truth (the study's level)."""
    wrong = checked = 0
    for case in CASES.values():
        for seed in range(8):
            choice = choose(_study(case, 100 + seed), case.criteria, count=800)
            w, n = _wrong(case, choice, explain(choice))
            wrong, checked = wrong + w, checked + n
    assert checked > 250
    assert wrong / checked <= 0.05


def _numbers(value: object) -> list[float]:
    if isinstance(value, bool):
        return []
    if isinstance(value, (int, float)):
        return [float(value)]
    if isinstance(value, (list, tuple)):
        return [n for v in value for n in _numbers(v)]
    if isinstance(value, dict):
        return [n for v in value.values() for n in _numbers(v)]
    return []


@pytest.mark.parametrize("name", CASES)
def test_every_number_is_that_of_a_finding(name: str) -> None:
    case = CASES[name]
    choice = choose(_study(case, 2), case.criteria)
    made = {f.key: f for f in choice_findings(choice)}
    asked = [v for m in choice.criteria.musts for v in (m.at_most, m.at_least) if v is not None]
    asked += [w.weight for w in choice.criteria.wants]
    for claim in explain(choice):
        known = [
            100 * choice.level,
            *asked,
            float(len(choice.candidates)),
            float(len(choice.failed)),
            1.0,
            2.0,
            99.0,
            1.0,
        ]
        for key in claim.findings:
            f = made[key]
            known += [f.value, f.standard_uncertainty, 100 * f.value, *_numbers(f.settings)]
            known += [100 * v for v in _numbers(f.settings)]
            known += [float(n) for note in f.notes for n in re.findall(r"\d+", note)]
            level = choice.level
            span = f.measured().interval(level)
            known += [span.low, span.high]
        for must in choice.musts:
            known += [float(n) for n in re.findall(r"\d+", must.why)] if must.why in claim.text else []
        for token in re.findall(r"(?<![\w⁻])[−-]?\d+(?:\.\d+)?(?:×10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?(?![\w⁻])", claim.text):
            if "×" in token:
                continue
            value = float(token.replace("−", "-"))
            digits = len(token.partition(".")[2])
            step = 0.51 * 10.0**-digits * (10 if digits == 0 and abs(value) >= 100 else 1)
            assert any(math.isfinite(k) and abs(abs(k) - abs(value)) <= step for k in known), (token, claim)


def test_text_is_the_claims_together() -> None:
    case = CASES["one far ahead"]
    choice = choose(_study(case, 1), case.criteria)
    assert text(choice) == " ".join(c.text for c in explain(choice))
