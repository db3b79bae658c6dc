from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.study.load import check

MUST, WANT = "[[choice.musts]]\n", "[[choice.wants]]\n"
RIGHT = 'finding = "sensitivity"\naim = "maximise"\nlow = "0 uA/(mmol/L)"\nhigh = "9 A/(mol/L)"\n'


@pytest.mark.parametrize(
    ("text", "place", "what", "example"),
    [
        (MUST + 'finding = "sensitivity"', "musts.1", "needs a limit", "at_most"),
        (MUST + 'finding = "response_class"', "musts.1", "needs a limit", "equals"),
        (MUST + 'finding = "response_class"\nat_most = "3"', "musts.1", "is a word", "equals"),
        (MUST + 'finding = "response_class"\nequals = "peeks"', "musts.1.equals", "did you mean 'peak'", 'equals = "peak"'),
        (MUST + 'finding = "evenness"\nequals = "tidy"', "musts.1.equals", "known: even, random, clustered", "equals ="),
        (MUST + 'finding = "false_concentration"\nat_most = "5 umol/L"\ncondition = "oxgen"', "musts.1.condition", "did you mean 'oxygen'", 'condition = "oxygen"'),
        (WANT + RIGHT.replace("sensitivity", "slope_ratio").replace("0 uA/(mmol/L)", "0").replace("9 A/(mol/L)", "2") + 'condition = "rust"', "wants.1.condition", "names no confounder", "condition ="),
        (MUST + 'finding = "sensitivity"\nequals = "peak"', "musts.1.equals", "is a number", "at_most"),
        (MUST + 'finding = "sensitivity"\nat_most = "1 uA/(mmol/L)"\nat_least = "2 uA/(mmol/L)"', "musts.1", "nothing can pass", "at_least"),
        (MUST + 'finding = "sensitivity"\nat_most = "5"', "musts.1.at_most", "sensitivity is in uA/(mmol/L)", "uA/(mmol/L)"),
        (MUST + 'finding = "signal_to_noise"\nat_least = "3 V"', "musts.1.at_least", "plain numbers", "2"),
        (MUST + 'finding = "sensitivity"\nat_most = 5', "musts.1.at_most", "bare number", "20 umol/L"),
        (MUST + 'finding = "limit_of_detectoin"\nat_most = "5 umol/L"', "musts.1.finding", "did you mean 'limit_of_detection'", "limit_of_detection"),
        (WANT + RIGHT.replace("sensitivity", "response_class"), "wants.1", "make it a must", "equals"),
        (WANT + RIGHT.replace("0 uA", "9000 uA"), "wants.1", "is not below high", "low ="),
        (WANT + RIGHT.replace('"maximise"', '"target"'), "wants.1", "there is no target", "target ="),
        (WANT + RIGHT.replace('"maximise"', '"target"') + 'target = "1 mA/(mol/L)"\nlow = ""'.replace('\nlow = ""', "").replace("1 mA", "99 A"), "wants.1", "does not lie between", "target ="),
        (WANT + RIGHT + "weight = -1", "wants.1.weight", "at least 0", "weight ="),
        (WANT + RIGHT + "weight = 0", "wants", "zero", "weight ="),
        (WANT + RIGHT.replace('"maximise"', '"max"'), "wants.1.aim", "known: maximise, minimise, target", "aim ="),
        ('[comparison]\nfindings = ["sensitivity", "sensitivty"]', "comparison.findings", "entry 2", "findings ="),
        ('[comparison.margins]\nsensitivty = "5 %"', "comparison.margins.sensitivty", "did you mean 'sensitivity'", "5 %"),
        ('[comparison.margins]\nsensitivity = "5 V"', "comparison.margins.sensitivity", "'V'", "uA/(mmol/L)"),
        ('[comparison]\nreference = "nickle"', "comparison.reference", "did you mean 'nickel'", "reference ="),
    ],
)  # fmt: skip
def test_mistakes_of_criteria(study: Path, text: str, place: str, what: str, example: str) -> None:
    with (study / "study.toml").open("a", encoding="utf-8") as out:
        out.write("\n" + text + "\n")
    problems = check(study)
    assert len(problems) == 1, [str(p) for p in problems]
    assert place in problems[0].place
    assert what in problems[0].what
    assert example in problems[0].example


@pytest.mark.parametrize(
    "text",
    [
        MUST + 'finding = "sensitivity"\nat_least = "1 uA/mM"',
        MUST + 'finding = "sensitivity"\nat_least = "0,5 uA/(mmol/L)"\nat_most = "1 mA/(mmol/L)"',
        MUST + 'finding = "response_class"\nequals = "peak"',
        MUST + 'finding = "signal_to_noise"\nat_least = "3"',
        MUST + 'finding = "repeatability"\nat_most = "5 %"',
        WANT + RIGHT,
        WANT + RIGHT.replace('"maximise"', '"target"') + 'target = "5 uA/(mmol/L)"',
        WANT + RIGHT + "weight = 0\n" + WANT + RIGHT,
        '[comparison]\nreference = "copper"\nfindings = ["sensitivity"]\nmargins = { sensitivity = "5 %", limit_of_detection = "1 umol/L" }',
    ],
)
def test_right_criteria_are_not_complained_about(study: Path, text: str) -> None:
    with (study / "study.toml").open("a", encoding="utf-8") as out:
        out.write("\n" + text + "\n")
    assert [str(p) for p in check(study)] == []
