from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.errors import StudyError
from halfcell.study import open_study
from halfcell.study.edit import StudyEdit


def test_a_value_changes_and_nothing_else(study: Path) -> None:
    before = (study / "study.toml").read_text("utf-8")
    edit = StudyEdit(study)
    edit.set("analyte", "nitrate")
    edit.save()
    assert (study / "study.toml").read_text("utf-8") == before.replace('"nitrite"', '"nitrate"')


def test_saving_without_a_change_keeps_every_byte(study: Path) -> None:
    data = b"\xef\xbb\xbf" + (study / "study.toml").read_bytes().replace(b"\n", b"\r\n")
    (study / "study.toml").write_bytes(data)
    StudyEdit(study).save()
    assert (study / "study.toml").read_bytes() == data


def test_tables_are_added_and_removed(study: Path) -> None:
    edit = StudyEdit(study)
    edit.add_electrode("Ru.2 b", {"material": "ruthenium", "area": "0.0707 cm^2"})
    edit.add_solution("air", {"oxygen": "air"})
    edit.add_want(
        {"finding": "sensitivity", "aim": "maximise", "low": "0 uA/(mmol/L)", "high": "9 uA/(mmol/L)"}
    )
    edit.add_must({"finding": "false_concentration", "at_most": "20 umol/L"})
    edit.add_must({"finding": "limit_of_detection", "at_most": "20 umol/L"})
    edit.set("analysis.calibration.weights", "1/x")
    edit.remove("electrodes.Cu-1")
    made = edit.save()
    assert made is not None
    assert set(made.electrodes) == {"Ni-1", "Ru.2 b"}
    assert [m.finding for m in made.choice.musts] == ["false_concentration", "limit_of_detection"]
    assert made.analysis.calibration.weights == "1/x"
    assert "# what is sensed" in (study / "study.toml").read_text("utf-8")
    edit.set_weight("sensitivity", 2.5)
    again = edit.save()
    assert again is not None
    assert again.choice.wants[0].weight == 2.5
    assert StudyEdit(study).get("choice.wants.1.weight") == 2.5


def test_a_wrong_change_is_not_written(study: Path) -> None:
    before = (study / "study.toml").read_bytes()
    edit = StudyEdit(study)
    edit.set("electrodes.Ni-1.area", "7 mm")
    with pytest.raises(StudyError, match=r"area.*'mm'") as caught:
        edit.save()
    assert len(caught.value.problems) == 1
    assert (study / "study.toml").read_bytes() == before
    edit.set("electrodes.Ni-1.area", "7 mm^2")
    edit.save()
    assert open_study(study).file.electrodes["Ni-1"].area == pytest.approx(7e-6)


def test_another_hand_is_not_overwritten(study: Path) -> None:
    mine, theirs = StudyEdit(study), StudyEdit(study)
    theirs.set("title", "theirs")
    theirs.save()
    mine.set("title", "mine")
    with pytest.raises(StudyError, match="meanwhile"):
        mine.save()
    assert open_study(study).file.title == "theirs"
    assert not [p for p in study.iterdir() if p.name.endswith(".part")]


def test_what_is_not_there(study: Path) -> None:
    edit = StudyEdit(study)
    for act in (
        lambda: edit.remove("electrodes.Ni-9"),
        lambda: edit.set_weight("sensitivity", 1.0),
        lambda: edit.add_electrode("Ni-1", {}),
    ):
        with pytest.raises(StudyError):
            act()


SCATTERED = """\
format = 1
analyte = "x"
reference_electrode = "y"
electrodes.Zn-1 = { material = "zinc", area = "1 cm^2" } # inline

[solutions.base] # first

[analysis]
confidence = 0.9

[solutions.air]
oxygen = "air"

[[choice.wants]] # wish
finding = "sensitivity"
aim = "maximise"
low = "0 uA/(mmol/L)"
high = "9 uA/(mmol/L)"

[analysis.calibration]
weights = "none"

[choice]
draws = 300
"""


@pytest.mark.parametrize(
    "text",
    [
        SCATTERED,
        SCATTERED.replace("[choice]\ndraws = 300\n", ""),
        SCATTERED.replace("[analysis]\nconfidence = 0.9\n", ""),
        SCATTERED.replace("[[choice.wants]] # wish", "[[choice.wants]]").replace("\n\n", "\n"),
        SCATTERED.replace("\n", "\r\n"),
    ],
)
def test_files_in_any_order_are_changed_rightly(study: Path, text: str) -> None:
    (study / "study.toml").write_text(text, encoding="utf-8", newline="")
    edit = StudyEdit(study)
    edit.add_electrode("Cu-1", {"material": "copper", "area": "1 cm^2"})
    edit.set("electrodes.Zn-1.role", "bulk")
    edit.set("electrodes.Cu-1.batch", "B")
    edit.add_solution("low", {"oxygen": "removed"})
    edit.set("solutions.base.ph", 7.0)
    edit.set("analysis.seed", 5)
    edit.set("analysis.voltammetry.peak_from", "0.1 V")
    edit.set("analysis.calibration.weights", "1/x")
    edit.set_weight("sensitivity", 3.0)
    edit.set("choice.draws", 500)
    edit.add_must({"finding": "sensitivity", "at_least": "1 uA/(mmol/L)"})
    edit.add_want({"finding": "intercept", "aim": "minimise", "low": "0 uA", "high": "1 uA"})
    made = edit.save()
    assert made is not None
    assert made.electrodes["Zn-1"].role == "bulk"
    assert made.electrodes["Cu-1"].batch == "B"
    assert set(made.solutions) == {"base", "air", "low"}
    assert made.solutions["base"].ph == 7.0
    assert made.analysis.seed == 5
    assert made.analysis.voltammetry.peak_from == pytest.approx(0.1)
    assert made.analysis.calibration.weights == "1/x"
    assert [w.weight for w in made.choice.wants] == [3.0, 1.0]
    assert made.choice.draws == 500
    assert len(made.choice.musts) == 1
    written = (study / "study.toml").read_text("utf-8")
    assert "# inline" in written
    assert "# first" in written
    assert StudyEdit(study).save() == made
