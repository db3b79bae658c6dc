from __future__ import annotations

import pytest

from halfcell.study.known import Known, known_of

ROWS = [
    {"file": "data/exp1_Ni1_cv_blank.csv", "electrode": "Ni1", "technique": "cyclic voltammogram", "solution": "buffer", "order": "1"},
    {"file": "data/exp2_Ni2_cv_blank.csv", "electrode": "Ni2", "technique": "cyclic voltammogram", "solution": "buffer", "order": "4"},
    {"file": "data/exp2_Ni2_cv_1mM.csv", "electrode": "Ni2", "technique": "cyclic voltammogram", "solution": "buffer", "order": ""},
    {"file": "images/exp1_Ni1_sem.png", "electrode": "Ni1", "technique": "micrograph", "solution": "", "order": ""},
]  # fmt: skip


def test_a_new_study_knows_nothing() -> None:
    assert Known().electrode("Ni-1", "Ni-1", "Ni-1_cv.csv") == "Ni-1"
    assert Known().solution("electrolyte", told=False) == "electrolyte"
    assert Known().short(["exp_Ni1", "exp_Cu1"]) == {"exp_Ni1": "Ni1", "exp_Cu1": "Cu1"}


def test_the_parts_a_person_said_an_electrode_is_go_for_new_names() -> None:
    known = known_of({}, ROWS, {})
    assert known.places == (1,)
    assert known.electrode("exp9_Ni9", "exp9_Ni9", "exp9_Ni9_cv_blank.csv") == "Ni9"
    assert known.electrode("exp1_Ni1", "exp1_Ni1", "exp1_Ni1_cv_5mM.csv") == "Ni1"
    # A name without such a part says what it says.
    assert known.electrode("Cu", "Cu", "Cu_cv_blank.csv") == "Cu"


def test_names_that_the_guess_understands_are_not_learned() -> None:
    rows = [{**row, "electrode": row["file"].split("_cv")[0][5:]} for row in ROWS[:3]]
    assert known_of({}, rows, {}).places == ()


@pytest.mark.parametrize("name", ["Ni-1", "ni-1", "NI_1", "ni 1"])
def test_capitals_and_marks_make_no_other_electrode(name: str) -> None:
    known = Known(electrodes={"Ni-1": {}, "Ni-10": {}})
    assert known.electrode(name, name, f"{name}_cv.csv") == "Ni-1"


def test_solutions() -> None:
    known = known_of({"solutions": {"buffer": {}, "acid": {}}}, ROWS, {})
    assert known.solution("electrolyte", told=False) == "buffer"
    assert known.solution("electrolyte-air", told=True) == "electrolyte-air"
    assert known.solution("ACID", told=True) == "acid"
    mixed = [*ROWS, {**ROWS[0], "file": "data/exp3_Ni3_cv.csv", "solution": "acid"}]
    assert (
        known_of({"solutions": {"buffer": {}, "acid": {}}}, mixed, {}).solution("electrolyte", told=False)
        == "?"
    )
    assert Known(solutions={"acid": {}}).solution("electrolyte", told=False) == "acid"


def test_orders_are_known_where_every_record_has_one() -> None:
    assert known_of({}, ROWS, {}).orders == {"Ni1": 1, "Ni2": None}


def test_material_as_electrodes_named_alike_have_it() -> None:
    films = {"Ni-1": {"material": "nickel film"}, "Ni-2": {"material": "nickel film", "role": "candidate"}}
    assert Known(electrodes=films).material("Ni-3") == ("nickel film", "candidate")
    assert Known(electrodes=films).material("Cu-1") == ("", "")
    assert Known(electrodes=films | {"Ni-4": {"material": "nickel"}}).material("Ni-3") == ("", "")
