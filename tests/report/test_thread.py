from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import HalfcellError
from halfcell.recording import Recording
from halfcell.report.thread import chosen, thread, title


@pytest.fixture(autouse=True)
def _reader(monkeypatch):
    """What a reader would say of a file, so that this depends on no reader."""
    import halfcell.pipeline.loading as loading

    def load(folder, path, **options):
        if not (folder / path).is_file():
            raise FileNotFoundError(2, "No such file", path)
        columns = (("potential", "Potential (mV)", "mV"), ("current", "i(uA)", "uA"))
        return Recording(
            file=path,
            sha256="",
            current=np.zeros(180),
            extra={},
            reader="text",
            columns=columns,
            first_row=2,
            assumed=("one cycle",),
        )

    monkeypatch.setattr(loading, "load", load)


def told(analysis, *which) -> dict[str, dict[str, str]]:
    (finding,) = chosen(analysis, *which)
    return {strand.title: dict(strand.lines) for strand in thread(analysis, finding)}


def test_a_thread_goes_from_the_value_to_the_file(analysis):
    said = told(analysis, "test_slope", "Ni-1")
    assert said[""]["value"] == "12.35 ± 0.40 µA mM⁻¹"
    assert said[""]["degrees of freedom"] == "3.00"
    assert said["Method"]["formula"] == "i = a + b c"
    assert said["Method"]["source"] == "A textbook, page 1"
    assert said["Settings"] == {"points": "5", "window": "0.05"}
    file = said["Recording data/ni1.csv"]
    assert file["sha256"] == analysis.files["data/ni1.csv"]
    assert file["technique"] == "cyclic voltammogram"
    assert file["scan rate"] == "50.0 mV s⁻¹"
    assert file["columns"] == "potential = 'Potential (mV)' in mV, current = 'i(uA)' in uA"
    assert file["samples"] == "180, the first in line 2"
    assert file["assumed"] == "one cycle"


def test_a_persons_decision_is_in_the_thread(analysis):
    said = told(analysis, "test_slope", "Ni-1")["Decided by a person"]
    assert "A. Student" in said["peak window"]
    assert "the shoulder is not the peak" in said["peak window"]
    assert "Decided by a person" not in told(analysis, "test_slope", "Ni-2")


def test_what_was_made_from_the_same_recordings_is_named(analysis):
    said = told(analysis, "test_size", "Ni-1")
    assert said["Made before it from the same recordings"]["test_slope | Ni-1"] == "12.35 ± 0.40 µA mM⁻¹"
    assert "test_slope | Ni-2" not in said["Made before it from the same recordings"]
    assert said["Made after it from the same recordings"][""] == "test_false"


def test_a_finding_about_a_group_rests_on_its_electrodes(analysis):
    said = told(analysis, "test_slope", "nickel")["Rests on"]
    assert set(said) == {"test_slope | Ni-1", "test_slope | Ni-2"}


def test_a_finding_rests_on_those_it_names(analysis):
    from dataclasses import replace

    one = replace(analysis.findings.rows[5], settings={"rests_on": ("test_slope | Ru-1",)}, recordings=())
    said = {s.title: dict(s.lines) for s in thread(analysis, one)}
    assert set(said["Rests on"]) == {"test_slope | Ru-1"}


def test_a_file_that_is_gone_is_said(analysis, folder):
    (folder / "data" / "ni2.csv").unlink()
    assert "cannot be read now" in told(analysis, "test_slope", "Ni-2")["Recording data/ni2.csv"]


def test_a_condition_is_found_by_a_part_of_its_words(analysis):
    (one,) = chosen(analysis, "test_false", "Ni-1", "Oxy")
    assert one.condition == "oxygen"
    assert title(one) == "false nitrite of Ni-1, oxygen"
    assert len(chosen(analysis, "test_false", "Ni-1")) == 2


@pytest.mark.parametrize(
    ("which", "said"),
    [
        (("test_slop",), "Did you mean test_slope"),
        (("qqqqqq",), "There are test_slope, test_class"),
        (("test_slope", "Ni-3"), "Did you mean Ni-"),
        (("test_false", "Ni-1", "ethanol"), "There are oxygen, nitrate"),
    ],
)
def test_what_is_not_there_is_answered_with_what_is(analysis, which, said):
    with pytest.raises(HalfcellError, match=said):
        chosen(analysis, *which)
