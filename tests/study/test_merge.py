from __future__ import annotations

import tomllib

import pytest

from halfcell.errors import StudyError
from halfcell.study.merge import MovedOnError, merged

STUDY = b'format = 1\r\n\r\n[electrodes.A]\r\nmaterial = "nickel" # plated\r\narea = "1 cm^2"\r\n\r\n[electrodes.B]\r\narea = "2 cm^2"\r\n'
RUNS = "file;electrode;scan_rate\nä.csv;A;0,05 V/s\nb.csv;A;0,1 V/s\nc.csv;B;0,2 V/s\n".encode("latin-1")
HEAD = 'format = 1\n\n[[adjustment]]\nkind = "use cycle"\nfile = "a.csv"\ncycle = 1\n\n'
MORE = '[[adjustment]]\nkind = "exclude particle"\nfile = "b.png"\nx = {x}\ny = 2.0\n\n'


def test_only_the_change_itself_goes_back() -> None:
    changed = STUDY.replace(b"1 cm^2", b"9 cm^2")
    others = changed.replace(b"nickel", b"copper").replace(b"2 cm^2", b"3 cm^2") + b"# by hand\r\n"
    back = merged("study.toml", changed, STUDY, others)
    assert back == STUDY.replace(b"nickel", b"copper").replace(b"2 cm^2", b"3 cm^2") + b"# by hand\r\n"


def test_a_table_keeps_its_encoding_and_its_moved_rows() -> None:
    changed = RUNS.replace(b"0,1 V/s", b"0,3 V/s")
    others = changed.replace(b"scan_rate\n", b"scan_rate\nnew.csv;B;1 V/s\n")
    back = merged("runs.csv", changed, RUNS, others)
    assert back == RUNS.replace(b"scan_rate\n", b"scan_rate\nnew.csv;B;1 V/s\n")


def test_a_letter_that_a_table_saved_anew_has_no_code_for_is_kept() -> None:
    before = RUNS.decode("latin-1").replace("0,1 V/s", "0,1 V/s Ω")
    back = merged("runs.csv", RUNS.decode("latin-1").encode(), before.encode(), RUNS)
    assert back == before.encode("utf-8-sig")


@pytest.mark.parametrize(
    ("name", "base", "target", "now", "words"),
    [
        ("study.toml", STUDY.replace(b"1 cm^2", b"9 cm^2"), STUDY, STUDY.replace(b"1 cm^2", b"8 cm^2"), "8 cm"),
        ("study.toml", STUDY.replace(b"1 cm^2", b"9 cm^2"), STUDY, None, "removed by someone else"),
        (
            "study.toml",
            STUDY.replace(b"1 cm^2", b"9 cm^2"),
            STUDY,
            STUDY.replace(b"[electrodes.A]", b"[electrodes.C]"),
            "empty now",
        ),
        ("runs.csv", RUNS.replace(b"0,1 V/s", b"0,3 V/s"), RUNS, RUNS.replace(b"0,1 V/s", b"0,4 V/s"), "same lines"),
        (
            "adjustments.toml",
            (HEAD + MORE.format(x=1.0)).encode(),
            HEAD.encode(),
            (HEAD + MORE.format(x=7.0)).encode(),
            "particle taken out of b.png",
        ),
        (
            "adjustments.toml",
            b"format = 1\n",
            HEAD.encode(),
            HEAD.replace("cycle = 1", "cycle = 3").encode(),
            "cycle 3 of a.csv used” was decided anew",
        ),
    ],
)  # fmt: skip
def test_what_others_changed_too_is_left(
    name: str, base: bytes, target: bytes, now: bytes | None, words: str
) -> None:
    with pytest.raises(MovedOnError, match=words.replace("^", r"\^")):
        merged(name, base, target, now)


def test_criteria_put_in_another_order_by_hand_are_not_mixed_up() -> None:
    one, two = (
        b'[[choice.wants]]\nfinding = "%s"\nweight = 1.0\n\n' % name for name in (b"sensitivity", b"coverage")
    )
    before = one + two
    after = before.replace(b"weight = 1.0", b"weight = 2.0", 1)
    moved = two + one.replace(b"1.0", b"2.0")
    try:
        found = merged("study.toml", after, before, moved)
    except MovedOnError:
        return
    wants = tomllib.loads((found or b"").decode())["choice"]["wants"]
    assert {want["finding"]: want["weight"] for want in wants} == {"sensitivity": 1.0, "coverage": 1.0}


def test_a_file_with_a_mistake_is_left_until_it_is_mended() -> None:
    for name, base in (
        ("study.toml", STUDY.replace(b"1 cm^2", b"9 cm^2")),
        ("adjustments.toml", HEAD.encode()),
    ):
        with pytest.raises(StudyError, match="mend its mistakes") as refused:
            merged(name, base, STUDY if name == "study.toml" else b"format = 1\n", base + b"half a li")
        assert not isinstance(refused.value, MovedOnError)


def test_a_decision_taken_out_comes_back_beside_newer_ones() -> None:
    without, with_, now = (
        HEAD,
        HEAD + MORE.format(x=1.0),
        HEAD + MORE.format(x=5.0),
    )
    back = merged("adjustments.toml", without.encode(), with_.encode(), now.encode())
    assert [one.get("x") for one in tomllib.loads((back or b"").decode())["adjustment"]] == [None, 5.0, 1.0]


def test_a_file_that_stands_so_already_is_no_clash() -> None:
    assert merged("study.toml", STUDY + b"# more\n", STUDY, STUDY) == STUDY
