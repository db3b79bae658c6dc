from __future__ import annotations

import pytest

from halfcell.study.changes import change_words

STUDY = """
[electrodes.Ni-1]
area = "0.07 cm^2"
[electrodes.Ni-1.factors]
light = true
[readers.old]
files = "old_*.csv"
[analysis]
confidence = 0.95
[[choice.wants]]
finding = "sensitivity"
weight = 2.0
[[choice.musts]]
finding = "limit_of_detection"
at_most = "20 umol/L"
"""
RUNS = "file,electrode,scale\nimages/a.png,Ni-1,\nimages/b.png,Ni-1,2 nm\n"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("weight = 2.0", "weight = 3.0", "weight of sensitivity 2 → 3"),
        ("0.95", "0.9", "confidence 0.95 → 0.9"),
        ('"0.07 cm^2"', '"0.08 cm^2"', "area of Ni-1 0.07 cm^2 → 0.08 cm^2"),
        ("light = true", "light = false", "light of Ni-1 yes → no"),
        ("light = true", "", "light of Ni-1 yes taken out"),
        ("[analysis]", '[readers.x]\nfiles = "x_*.csv"\nskip = 3\n[analysis]', "how x_*.csv is read"),
        ("20 umol/L", "30 umol/L", "limit of detection, at most 20 umol/L → 30 umol/L"),
        ("[electrodes.Ni-1]", '[electrodes.Ni-1]\nbatch = "A"', "batch of Ni-1: A"),
        ("", "# a comment\n", "study.toml written anew"),
    ],
)
def test_study(old: str, new: str, words: str) -> None:
    assert change_words("study.toml", STUDY.encode(), STUDY.replace(old, new, 1).encode()) == words


def test_several_at_once_are_counted() -> None:
    new = STUDY.replace("2.0", "3.0").replace("0.95", "0.9").replace("0.07", "0.08")
    assert change_words("study.toml", STUDY.encode(), new.encode()).endswith("; 2 further changes")


def test_runs() -> None:
    new = RUNS.replace("a.png,Ni-1,", "a.png,Ni-1,1.5 nm")
    assert change_words("runs.csv", RUNS.encode(), new.encode()) == "scale of a.png empty → 1.5 nm"
    assert change_words("runs.csv", RUNS.encode(), (RUNS + "c.png,Ni-1,\n").encode()) == "1 record added to runs.csv"  # fmt: skip


def decision(kind: str, more: str) -> str:
    return f'[[adjustment]]\nkind = "{kind}"\nfile = "data/a.csv"\n{more}\n'


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        ("", decision("reject point", 'electrode = "Ni-1"\nconcentration = "0.02 mmol/L"'), "point 0.02 mmol/L of Ni-1 left out"),
        (decision("use cycle", "cycle = 2"), "", "cycle 2 of a.csv used: withdrawn"),
        (decision("use cycle", "cycle = 2"), decision("use cycle", "cycle = 3"), "cycle 3 of a.csv used"),
        ("", decision("exclude particle", "x = 1") + decision("exclude particle", "x = 2"), "2 decisions (exclude particle)"),
        ("", decision("move step", 'time = "10 s"\nto = "12 s"'), "addition of a.csv moved from 10 s to 12 s"),
        ("", decision("a kind of tomorrow", ""), "a kind of tomorrow of a.csv"),
        ("", decision("add step", ""), "addition at ? added in a.csv"),
    ],
)  # fmt: skip
def test_decisions(before: str, after: str, words: str) -> None:
    assert change_words("adjustments.toml", before.encode(), after.encode()) == words


def test_long_and_hidden_letters_do_not_reach_the_screen() -> None:
    new = STUDY.replace("0.07 cm^2", "x" * 500)
    assert len(change_words("study.toml", STUDY.encode(), new.encode())) < 120
