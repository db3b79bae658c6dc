from __future__ import annotations

import os
import threading
import time
from pathlib import Path

import pytest

from halfcell.errors import StudyError
from halfcell.study import decisions, open_study
from halfcell.study.lock import locked

WINDOW = {
    "kind": "baseline window",
    "file": "data/ni1_1mM.csv",
    "windows": [["0.1 V", "0.2 V"]],
    "who": "A",
    "why": "flat",
}
CYCLE = {"kind": "use cycle", "file": "data/ni1_1mM.csv", "cycle": 2, "when": "2026-05-04T14:30"}


def test_append_replace_remove(study: Path) -> None:
    first = decisions.append(study, WINDOW)
    assert first.decisions[0].when  # filled in
    second = decisions.append(study, CYCLE, expected=first.hash)
    assert [d.kind for d in open_study(study).adjustments] == ["baseline window", "use cycle"]
    third = decisions.replace(study, 1, CYCLE | {"cycle": 3}, expected=second.hash)
    assert open_study(study).adjustments[1].cycle == 3
    last = decisions.remove(study, 0, expected=third.hash)
    assert len(last.decisions) == 1
    assert len(decisions.remove(study, 0, expected=None).decisions) == 0
    assert decisions.read_decisions(study).decisions == ()


def test_comments_stay(study: Path) -> None:
    path = study / "adjustments.toml"
    path.write_text(
        "# by hand\nformat = 1\n\n[[adjustment]] # the first\nkind = \"use cycle\"\nfile = 'data/ni1_1mM.csv' # odd\ncycle = 2\n",
        encoding="utf-8",
    )
    before = path.read_text("utf-8")
    decisions.append(study, WINDOW)
    assert path.read_text("utf-8").startswith(before)


def test_a_wrong_decision_is_not_written(study: Path) -> None:
    decisions.append(study, CYCLE)
    before = (study / "adjustments.toml").read_bytes()
    with pytest.raises(StudyError, match="windows"):
        decisions.append(study, WINDOW | {"windows": [["0.1 s", "0.2 V"]]})
    with pytest.raises(StudyError, match="no decision 5"):
        decisions.remove(study, 4, expected=None)
    with pytest.raises(StudyError, match="meanwhile"):
        decisions.remove(study, 0, expected="other")
    assert (study / "adjustments.toml").read_bytes() == before


def test_many_hands_lose_nothing(study: Path) -> None:
    def add(number: int) -> None:
        for i in range(5):
            decisions.append(study, CYCLE | {"cycle": number * 10 + i + 1})

    hands = [threading.Thread(target=add, args=(n,)) for n in range(4)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert sorted(d.cycle for d in open_study(study).adjustments) == sorted(
        n * 10 + i + 1 for n in range(4) for i in range(5)
    )
    assert not list(study.glob(".adjustments*"))


def test_the_lock_of_a_dead_program_is_taken_over(study: Path) -> None:
    lock = study / ".adjustments.toml.lock"
    lock.write_text("dead", encoding="ascii")
    with pytest.raises(StudyError, match="another program"), locked(study / "adjustments.toml", patience=0.1):
        pass
    old = time.time() - 60
    os.utime(lock, (old, old))
    decisions.append(study, CYCLE)
    assert not lock.exists()
