from __future__ import annotations

import json
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from halfcell.errors import StudyError
from halfcell.study import decisions, open_study
from halfcell.study.atomic import written
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.history import FILES, History
from halfcell.study.merge import MovedOnError

WINDOW = {"kind": "baseline window", "file": "data/ni1_1mM.csv", "windows": [["0.1 V", "0.2 V"]]}
CYCLE = {"kind": "use cycle", "file": "data/ni1_1mM.csv", "cycle": 1}


def state(study: Path) -> dict[str, bytes | None]:
    return {name: (study / name).read_bytes() if (study / name).exists() else None for name in FILES}


def history_of(study: Path) -> History:
    return History(folder=study, store=study.parent / "kept" / "history.json")


def done(study: Path, change: Callable[[], Any]) -> None:
    with written() as writes:
        change()
    history_of(study).add(writes)


def area(study: Path, electrode: str, text: str) -> None:
    edit = StudyEdit(study)
    edit.set(f"electrodes.{electrode}.area", text)
    edit.save()


def rate(study: Path, row: int, text: str) -> None:
    edit = RunsEdit(study)
    edit.set(row, "scan_rate", text)
    edit.save()


def test_every_file_goes_back_to_its_bytes_and_forward_again_after_a_restart(study: Path) -> None:
    first = state(study)
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    done(study, lambda: decisions.append(study, WINDOW))
    done(study, lambda: decisions.append(study, CYCLE))
    done(study, lambda: rate(study, 2, "100 mV/s"))
    last = state(study)
    told = []
    while history_of(study).standing().undo:  # each time as a program that has just begun
        told.append(history_of(study).undo().what)
    assert told == [
        "scan rate of ni1_blank.csv 50 mV/s → 100 mV/s",
        "cycle 1 of ni1_1mM.csv used",
        "baseline of ni1_1mM.csv",
        "area of Ni-1 0.0707 cm^2 → 0.08 cm^2",
    ]
    assert state(study) == first  # adjustments.toml, which was not there, is not there again
    assert history_of(study).standing().redo_what == told[-1]
    while history_of(study).standing().redo:
        history_of(study).redo()
    assert state(study) == last
    for turn in (history_of(study).redo, lambda: history_of(study.parent).undo()):
        with pytest.raises(StudyError, match="nothing to"):
            turn()


def test_a_new_change_ends_what_could_be_made_again(study: Path) -> None:
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    history_of(study).undo()
    done(study, lambda: area(study, "Ni-1", "0.09 cm^2"))
    assert history_of(study).standing().redo == 0
    with written() as nothing:
        pass
    history_of(study).add(nothing)
    assert history_of(study).standing().undo == 1


def test_what_others_did_since_stays(study: Path) -> None:
    done(study, lambda: decisions.append(study, WINDOW))
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    path = study / "study.toml"
    path.write_text(path.read_text("utf-8").replace("0,0707", "0.0900") + "\n# a remark by hand\n", "utf-8")
    decisions.append(study, CYCLE | {"cycle": 2})  # by another program
    history_of(study).undo()
    text = path.read_text("utf-8")
    assert 'area = "0.0707 cm^2"' in text
    assert 'area = "0.0900 cm^2"' in text
    assert text.endswith("# a remark by hand\n")
    history_of(study).undo()
    assert [d.kind for d in open_study(study).adjustments] == ["use cycle"]
    history_of(study).redo()
    assert sorted(d.kind for d in open_study(study).adjustments) == ["baseline window", "use cycle"]


def test_what_others_changed_is_never_overwritten_and_can_be_passed_over(study: Path) -> None:
    done(study, lambda: rate(study, 2, "100 mV/s"))
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    area(study, "Ni-1", "0.05 cm^2")
    before = state(study)
    with pytest.raises(MovedOnError, match=r"Area of Ni-1 is 0\.05 cm\^2 now, no longer 0\.08"):
        history_of(study).undo()
    assert state(study) == before
    assert history_of(study).leave(back=True).what.startswith("area of Ni-1")
    history_of(study).undo()
    assert "100 mV/s" not in (study / "runs.csv").read_text("utf-8")
    assert "0.05 cm^2" in (study / "study.toml").read_text("utf-8")


def test_a_step_half_taken_when_the_program_was_killed_is_taken_whole(study: Path) -> None:
    def both() -> None:
        area(study, "Ni-1", "0.08 cm^2")
        rate(study, 2, "100 mV/s")

    first = state(study)
    done(study, both)
    assert (first["study.toml"] or b"") != (study / "study.toml").read_bytes()
    (study / "study.toml").write_bytes(first["study.toml"] or b"")
    history_of(study).undo()
    assert state(study) == first


def test_a_failing_write_leaves_the_step_where_it_was(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    before = state(study)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", full)
        with pytest.raises(StudyError, match="free some space"):
            history_of(study).undo()
    assert state(study) == before
    history_of(study).undo()
    assert 'area = "0.0707 cm^2"' in (study / "study.toml").read_text("utf-8")


def test_a_history_that_cannot_be_kept_lasts_as_long_as_the_program(study: Path, tmp_path: Path) -> None:
    (tmp_path / "no-folder").write_text("a file", "utf-8")
    history = History(folder=study, store=tmp_path / "no-folder" / "history.json")
    with written() as writes:
        area(study, "Ni-1", "0.08 cm^2")
    history.add(writes)
    assert history.standing().undo == 1
    history.undo()
    assert 'area = "0.0707 cm^2"' in (study / "study.toml").read_text("utf-8")
    assert history.standing().redo == 1


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text[: len(text) // 2],
        lambda text: text.replace('"study.toml"', '"../elsewhere.toml"'),
        lambda text: text.replace('"format": 1', '"format": 9'),
        lambda _: "[]",
        lambda _: '{"format": 1}',
    ],
)
def test_a_spoiled_history_is_an_empty_one(study: Path, spoil: Callable[[str], str]) -> None:
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    history = history_of(study)
    history.store.write_text(spoil(history.store.read_text("utf-8")), "utf-8")
    assert history.standing().undo == 0


def test_a_spoiled_state_is_not_written(study: Path) -> None:
    done(study, lambda: area(study, "Ni-1", "0.08 cm^2"))
    history = history_of(study)
    told = json.loads(history.store.read_text("utf-8"))
    told["states"] = dict.fromkeys(told["states"], "none")
    history.store.write_text(json.dumps(told), "utf-8")
    before = state(study)
    with pytest.raises(StudyError, match="no longer kept"):
        history.undo()
    assert state(study) == before


def test_it_does_not_grow_without_end(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("halfcell.study.history._MOST_STEPS", 8)
    for i in range(10):
        done(study, lambda i=i: area(study, "Ni-1", f"0.{100 + i} cm^2"))  # type: ignore[misc]
    assert history_of(study).standing().undo == 8
    monkeypatch.setattr("halfcell.study.history._MOST_BYTES", 3000)
    done(study, lambda: area(study, "Ni-1", "0.2 cm^2"))
    assert 1 <= history_of(study).standing().undo < 8
    assert history_of(study).store.stat().st_size <= 3000


def test_two_programs_share_one_history(study: Path) -> None:
    def add(number: int) -> None:
        for i in range(5):
            cycle = CYCLE | {"cycle": number * 10 + i + 1, "file": f"data/{number}.csv"}
            done(study, lambda cycle=cycle: decisions.append(study, cycle))  # type: ignore[misc]

    hands = [threading.Thread(target=add, args=(n,)) for n in range(3)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert history_of(study).standing().undo == 15
    for _ in range(15):
        history_of(study).undo()
    assert not decisions.read_decisions(study).decisions
