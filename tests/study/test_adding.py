"""Further files in a study that exists."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import StudyError
from halfcell.study import adding, atomic
from halfcell.study.adding import add
from halfcell.study.atomic import written
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_readers import keep_reading
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.history import History
from halfcell.study.intake import intake
from halfcell.study.load import check, open_study
from halfcell.study.regroup import Cell, Regrouping, regroup


def bare(height: float) -> str:
    """A voltammogram in mV, a temperature and nA, without any heading."""
    half = np.linspace(0, 800, 60)
    e = np.concatenate([half, half[-2::-1]])
    i = 5 * np.sign(np.gradient(e)) + height * np.exp(-(((e - 500) / 60) ** 2))
    return "".join(
        f"{a:.1f} {20 + n % 7 / 100:.2f} {b:.4f}\n" for n, (a, b) in enumerate(zip(e, i, strict=True))
    )


@pytest.fixture
def tuesday(tmp_path: Path, sweep: Callable[..., str]) -> Path:
    """One further file of an electrode that the small study has, and two of a new one."""
    folder = tmp_path / "tuesday"
    folder.mkdir()
    (folder / "Ni-1_cv_2mM_50mVs.csv").write_text(sweep(2e-5), encoding="utf-8")
    (folder / "Ru-1_cv_blank_50mVs.csv").write_text(sweep(2e-9), encoding="utf-8")
    (folder / "Ru-1_cv_1mM_50mVs.csv").write_text(sweep(3e-5), encoding="utf-8")
    return folder


def state(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()
    }


def rows_of(folder: Path) -> dict[str, dict[str, str]]:
    return {row["file"].rpartition("/")[2]: row for row in RunsEdit(folder).rows.values()}


def test_what_the_study_knows_is_used_and_only_the_rest_is_asked(study: Path, tuesday: Path) -> None:
    before = state(study)
    added = add(tuesday, study)
    now, rows = state(study), rows_of(study)
    assert rows["Ni-1_cv_2mM_50mVs.csv"]["electrode"] == "Ni-1"
    assert {rows[f"Ru-1_cv_{c}_50mVs.csv"]["electrode"] for c in ("blank", "1mM")} == {"Ru-1"}
    assert {row["solution"] for row in rows.values()} == {"base"}
    assert rows["Ni-1_cv_2mM_50mVs.csv"]["concentration"] == "2 mmol/L"
    assert "electrode" in rows["Ni-1_cv_2mM_50mVs.csv"]["guessed"]
    assert (added.electrodes, added.solutions, added.rows) == (("Ru-1",), (), 3)
    # Nothing that was there is another: the old files, every line of study.toml, every row.
    assert {name: now[name] for name in before if name.startswith("data/")} == {
        name: data for name, data in before.items() if name.startswith("data/")
    }
    table = (
        b'\n[electrodes.Ru-1]\nmaterial = "ruthenium"  # guessed from the name\n'
        b'role = "candidate"  # guessed: candidate, bare, control or bulk\narea = "?"  # such as "0.0707 cm^2"\n'
    )
    assert table in now["study.toml"]
    assert now["study.toml"].replace(table, b"") == before["study.toml"]
    assert b"\n".join(line.split(b",guessed")[0] for line in now["runs.csv"].split(b"\n")).startswith(
        before["runs.csv"]
    )
    with (study / "intake.csv").open(encoding="utf-8", newline="") as source:
        recorded = {row["copied_from"]: row for row in csv.DictReader(source)}
    assert set(recorded) == {p.name for p in tuesday.iterdir()}
    assert recorded["Ni-1_cv_2mM_50mVs.csv"]["sha256"] == atomic.hash_of(
        (tuesday / "Ni-1_cv_2mM_50mVs.csv").read_bytes()
    )
    assert any("area of each (Ru-1)" in q for q in added.questions)
    assert not any("Ni-1" in q or "analyte" in q or "solution" in q for q in added.questions)
    left = [p for p in check(study) if p.severity == "error"]
    assert [p.what.split("'")[1] for p in left] == ["area"]
    edit = StudyEdit(study)
    edit.set("electrodes.Ru-1.area", "0.0707 cm^2")
    edit.save()
    assert len(open_study(study).runs) == 6


def test_a_study_within_the_source_is_passed_over(study: Path, tuesday: Path) -> None:
    added = add(study.parent, study)
    assert [t.source for t in added.files] == [f"tuesday/{p.name}" for p in sorted(tuesday.iterdir())]


def test_one_file(study: Path, tuesday: Path) -> None:
    added = add(tuesday / "Ni-1_cv_2mM_50mVs.csv", study)
    assert [t.file for t in added.files] == ["data/Ni-1_cv_2mM_50mVs.csv"]
    assert added.electrodes == ()
    assert [p for p in check(study) if p.severity == "error"] == []


def test_a_file_whose_content_is_there_is_left(study: Path, tuesday: Path) -> None:
    (tuesday / "again.csv").write_bytes((study / "data" / "ni1_1mM.csv").read_bytes())
    added = add(tuesday, study)
    assert [(one.source, one.equals) for one in added.left] == [("again.csv", "data/ni1_1mM.csv")]
    assert not (study / "data" / "again.csv").exists()
    before = state(study)
    with pytest.raises(
        StudyError,
        match=r"nothing new.*2mM_50mVs\.csv is the same, to the last byte, as data/Ni-1_cv_2mM_50mVs\.csv",
    ):
        add(tuesday, study)
    assert state(study) == before


def test_a_place_that_is_taken_is_refused_and_a_folder_of_its_own_will_do(study: Path, tuesday: Path) -> None:
    (tuesday / "NI1_1mm.csv").write_bytes(b"Time/s,E/V,I/A\n" + b"1,2,3\n" * 20)
    before = state(study)
    with pytest.raises(
        StudyError, match=r"'NI1_1mm\.csv' would become 'data/NI1_1mm\.csv', where 'data/ni1_1mM\.csv'"
    ) as told:
        add(tuesday, study)
    assert "NI1_1mm-2.csv" in str(told.value)
    assert state(study) == before
    added = add(tuesday, study, below="2026-12-01")
    assert {t.file.rpartition("/")[0] for t in added.files} == {"data/2026-12-01"}
    assert {n: d for n, d in state(study).items() if n in before and n.startswith("data")} == {
        n: d for n, d in before.items() if n.startswith("data")
    }
    for wrong in ("..", "a/../../b", "/etc", "a\\b", ".x", "a\nb", "x:y"):
        with pytest.raises(StudyError, match="no name for a folder"):
            add(tuesday, study, below=wrong)


def test_what_is_no_record_never_stands_in_the_way(study: Path, tuesday: Path) -> None:
    (study / "notes").mkdir()
    (study / "notes" / "readme.md").write_text("Monday", encoding="utf-8")
    (study / "notes" / "peaks.txt").write_text("Monday's peaks", encoding="utf-8")
    (tuesday / "readme.md").write_text("Tuesday", encoding="utf-8")
    (tuesday / "peaks.txt").write_text("Tuesday's peaks, no record", encoding="utf-8")
    added = add(tuesday, study)
    assert {t.source: t.file for t in added.files if t.kind == "other"} == {
        "readme.md": "notes/readme-2.md",
        "peaks.txt": "notes/peaks-2.txt",
    }
    notes = {p.name: p.read_text("utf-8") for p in (study / "notes").iterdir()}
    assert notes["readme.md"] == "Monday"
    assert notes["peaks-2.txt"] == "Tuesday's peaks, no record"


def test_readers_of_the_study_are_followed(tmp_path: Path) -> None:
    monday, tuesday = tmp_path / "monday", tmp_path / "tuesday"
    for folder, names in ((monday, ("Ni-1", "Ni-2")), (tuesday, ("Ni-3",))):
        folder.mkdir()
        for name in names:
            (folder / f"{name}_cv_1mM_50mVs.dat").write_text(bare(40 + int(name[-1])), encoding="utf-8")
    study = intake(monday, tmp_path / "study").folder
    files = [row["file"] for row in RunsEdit(study).rows.values()]
    keep_reading(
        study,
        files,
        files,
        {"columns": {"potential": 1, "current": 3}, "units": {"potential": "mV", "current": "nA"}},
    )
    added = add(tuesday, study)
    assert rows_of(study)["Ni-3_cv_1mM_50mVs.dat"]["technique"] == "cyclic voltammogram"
    assert added.files[0].problem == ""
    assert not any("readers" in question for question in added.questions)
    assert any("readers" in guess and "1 file read as it says" in guess for guess in added.guesses)
    # Another layout under names of the old pattern: its table stands before the old one, which still goes for the old files.
    wednesday = tmp_path / "wednesday"
    wednesday.mkdir()
    (wednesday / "Ni-4_cv_1mM_50mVs.dat").write_text(
        "".join(f"{n};{n * n}\n" for n in range(60)), encoding="utf-8"
    )
    readers = StudyEdit(study).get("readers")
    added = add(wednesday, study)
    after = StudyEdit(study).get("readers")
    (new,) = set(after) - set(readers)
    assert list(after) == [new, *readers]
    assert after[new]["files"] == "Ni-4_cv_1mM_50mVs.dat"
    assert any(f"readers.{new}" in question for question in added.questions)


def test_names_that_a_person_gave_go_on(tmp_path: Path, sweep: Callable[..., str]) -> None:
    monday, tuesday = tmp_path / "monday", tmp_path / "tuesday"
    for folder, numbers in ((monday, (1, 2)), (tuesday, (2, 3))):
        (folder / "Ni").mkdir(parents=True)
        for number in numbers:
            levels = ("1mM",) if folder == monday else ("2mM", "blank")
            for level in levels:
                (folder / "Ni" / f"exp{number}_Ni{number}_cv_{level}_50mVs.csv").write_text(
                    sweep(number * 1e-5 + len(level)), encoding="utf-8"
                )
    study = intake(monday, tmp_path / "study").folder
    cells = []
    for name, row in rows_of(study).items():
        cells.append(
            Cell(file=row["file"], column="electrode", was=row["electrode"], value=name.split("_")[1])
        )
        cells.append(Cell(file=row["file"], column="solution", was=row["solution"], value="buffer"))
    regroup(
        study,
        Regrouping(
            cells=tuple(cells),
            electrodes={"Ni1": {"material": "nickel film"}, "Ni2": {"material": "nickel film"}},
        ),
    )
    added = add(tuesday, study)
    rows = rows_of(study)
    assert {name.split("_")[1]: row["electrode"] for name, row in rows.items()} == {
        "Ni1": "Ni1",
        "Ni2": "Ni2",
        "Ni3": "Ni3",
    }
    assert {row["solution"] for row in rows.values()} == {"buffer"}
    assert (added.electrodes, added.solutions) == (("Ni3",), ())
    assert StudyEdit(study).get("electrodes.Ni3")["material"] == "nickel film"


def test_order_goes_on_behind_the_highest(study: Path, tmp_path: Path, sweep: Callable[..., str]) -> None:
    runs = RunsEdit(study)
    for number, row in enumerate(runs.rows, 5):
        runs.set(row, "order", str(number))
    runs.save()
    folder = tmp_path / "later"
    folder.mkdir()
    for name, run in (("Ni-1_cv_2mM", 1), ("Ni-1_cv_3mM", 2), ("Cu-1_cv_1mM", 9), ("Cu-1_cv_2mM", 10)):
        (folder / f"{name}_run{run}.csv").write_text(sweep(run * 1.1e-5), encoding="utf-8")
    add(folder, study)
    orders = {name: row["order"] for name, row in rows_of(study).items()}
    # Ni-1 has 5 and 6: 1 and 2 are counted on. Cu-1 has 7: 9 and 10 are behind it as they are.
    assert [orders[f"Ni-1_cv_{n}mM_run{n - 1}.csv"] for n in (2, 3)] == ["7", "8"]
    assert [orders[f"Cu-1_cv_{n}mM_run{n + 8}.csv"] for n in (1, 2)] == ["9", "10"]


def test_no_order_is_made_up_behind_records_that_have_none(
    study: Path, tmp_path: Path, sweep: Callable[..., str]
) -> None:
    for run in (1, 2):
        (tmp_path / "later").mkdir(exist_ok=True)
        (tmp_path / "later" / f"Ni-1_cv_{run}mM_run{run}.csv").write_text(
            sweep(run * 1.1e-5), encoding="utf-8"
        )
    add(tmp_path / "later", study)
    assert {row.get("order", "") for row in rows_of(study).values()} == {""}


def test_logs_may_be_alike_and_one_that_comes_later_is_asked_for(study: Path, tmp_path: Path) -> None:
    time = np.arange(3000) * 0.1
    rows = "".join(f"{t:.1f},{1e-7 * np.floor(t / 50) + 1e-10 * (n % 7):.6e}\n" for n, t in enumerate(time))
    log = "time,volume,concentration\n50 s,10 uL,10 mmol/L\n"
    first, second = tmp_path / "first", tmp_path / "second"
    for folder in (first, second):
        folder.mkdir()
    (first / "Ni-1_additions.csv").write_text("t/s,i/A\n" + rows, encoding="utf-8")
    (first / "Cu-1_additions.csv").write_text("t/s,i/A\n" + rows.replace("e-07", "e-08"), encoding="utf-8")
    (first / "Cu-1_additions_log.csv").write_text(log, encoding="utf-8")
    added = add(first, study)
    assert any("start_volume" in question for question in added.questions)
    assert StudyEdit(study).get("analysis.amperometry.start_volume") == "?"
    (second / "Ni-1_additions_log.csv").write_text(log, encoding="utf-8")
    before = (study / "runs.csv").read_bytes()
    added = add(second, study)
    assert [t.file for t in added.files] == ["data/Ni-1_additions_log.csv"]
    assert any(
        "is data/Ni-1_additions_log.csv the log of data/Ni-1_additions.csv?" in q for q in added.questions
    )
    assert (study / "runs.csv").read_bytes() == before


def test_a_table_of_another_program_keeps_its_form(study: Path, tuesday: Path) -> None:
    rows = [
        "Note;File;Electrode;Technique;Solution;Concentration;Scan rate",
        "# gemessen am Montag",
        "für später;data/ni1_blank.csv;Ni-1;cyclic voltammogram;base;;50 mV/s",
        ";data/ni1_1mM.csv;Ni-1;Cyclic Voltammogram;base;0,5 mmol/L;50 mV/s",
        ";data/cu1_blank.csv;Cu-1;cyclic voltammogram;base;;50 mV/s",
    ]
    old = "\r\n".join(rows).encode("latin-1")
    (study / "runs.csv").write_bytes(old)
    toml = (study / "study.toml").read_bytes().replace(b"\n", b"\r\n")
    (study / "study.toml").write_bytes(b"\xef\xbb\xbf" + toml)
    (tuesday / "Ni-1_cv_0p2mM_50mVs.csv").write_bytes(
        (tuesday / "Ni-1_cv_2mM_50mVs.csv").read_bytes() + b"\n"
    )
    add(tuesday, study)
    new = (study / "runs.csv").read_bytes().decode("latin-1")
    lines = new.split("\r\n")
    assert lines[: len(rows)] == [rows[0] + ";guessed", *rows[1:]]
    assert "\n" not in new.replace("\r\n", "")
    (line,) = [line for line in lines if "0p2mM" in line]
    assert line.startswith(";data/Ni-1_cv_0p2mM_50mVs.csv;Ni-1;cyclic voltammogram;base;0,2 mmol/L;50 mV/s;")
    text = (study / "study.toml").read_bytes()
    assert text.startswith(b"\xef\xbb\xbf")
    assert b"\n" not in text.replace(b"\r\n", b"")
    assert [p.what.split("'")[1] for p in check(study) if p.severity == "error"] == ["area"]


def test_it_can_be_taken_back_and_made_again(study: Path, tuesday: Path, tmp_path: Path) -> None:
    before = state(study)
    with written() as writes:
        add(tuesday, study)
    done = state(study)
    history = History(folder=study, store=tmp_path / "history.json")
    history.add(writes)
    assert history.standing().undo_what == "3 files added (new: Ru-1)"
    history.undo()
    now = state(study)
    assert {n: now[n] for n in before} == before
    # The copies stay where they are; without a row they are not analysed, and the check says so.
    assert {n for n in now if n not in before} == {
        "intake.csv",
        *(f"data/{p.name}" for p in tuesday.iterdir()),
    }
    assert sum("has no row in runs.csv" in p.what for p in check(study)) == 3
    history.redo()
    assert state(study) == done
    history.undo()
    again = add(tuesday, study)
    assert (again.rows, len(again.left)) == (3, 0)
    assert state(study) == done


def test_what_a_person_left_out_stays_out(tmp_path: Path, sweep: Callable[..., str]) -> None:
    loose = tmp_path / "loose"
    loose.mkdir()
    for n in (1, 2):
        (loose / f"Ni-{n}_cv_1mM_50mVs.csv").write_text(sweep(n * 1e-5), encoding="utf-8")
    study = intake(loose, tmp_path / "study").folder
    regroup(study, Regrouping(left_out=("data/Ni-2_cv_1mM_50mVs.csv",)))
    (loose / "Ni-3_cv_1mM_50mVs.csv").write_text(sweep(3e-5), encoding="utf-8")
    added = add(loose, study)
    assert [t.source for t in added.files] == ["Ni-3_cv_1mM_50mVs.csv"]
    assert {one.source: one.listed for one in added.left} == {
        "Ni-1_cv_1mM_50mVs.csv": True,
        "Ni-2_cv_1mM_50mVs.csv": False,
    }
    assert "left out earlier" in added.left[1].words
    # By itself it is taken.
    assert add(loose / "Ni-2_cv_1mM_50mVs.csv", study).rows == 1


class Killed(BaseException):
    """The end of a program in the middle of a line."""


@pytest.mark.parametrize("at", ["study.toml", "runs.csv", "intake.csv"])
def test_a_failure_in_the_write_leaves_the_study_as_it_was(
    study: Path, tuesday: Path, monkeypatch: pytest.MonkeyPatch, at: str
) -> None:
    before, folders = state(study), sorted(p for p in study.rglob("*") if p.is_dir())
    real = Path.replace

    def killed(self: Path, target: Path) -> Path:
        if target.name == at and self.read_bytes() not in before.values():
            raise Killed
        return real(self, target)

    monkeypatch.setattr(Path, "replace", killed)
    with pytest.raises(Killed):
        add(tuesday, study, below="later")
    assert state(study) == before
    assert sorted(p for p in study.rglob("*") if p.is_dir()) == folders


def test_a_program_that_died_before_the_rows_were_written(
    study: Path, tuesday: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files at their places without a row (nothing could be tidied up) are taken on the next try."""
    before = state(study)
    for path in tuesday.iterdir():
        (study / "data" / path.name).write_bytes(path.read_bytes())
    assert sum("has no row in runs.csv" in p.what for p in check(study)) == 3
    added = add(tuesday, study)
    assert (added.rows, added.left) == (3, ())
    assert {n for n in state(study) if n not in before} == {
        "intake.csv",
        *(f"data/{p.name}" for p in tuesday.iterdir()),
    }


def test_a_disk_without_second_names(study: Path, tuesday: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", none)
    assert add(tuesday, study).rows == 3
    assert (study / "data" / "Ni-1_cv_2mM_50mVs.csv").read_bytes() == (
        tuesday / "Ni-1_cv_2mM_50mVs.csv"
    ).read_bytes()


def test_changed_meanwhile(study: Path, tuesday: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = adding.texts

    def while_others_write(*arguments: object) -> object:
        made = real(*arguments)  # type: ignore[arg-type]
        (study / "runs.csv").write_bytes((study / "runs.csv").read_bytes() + b"\n")
        return made

    monkeypatch.setattr(adding, "texts", while_others_write)
    toml = (study / "study.toml").read_bytes()
    with pytest.raises(StudyError, match="changed by someone else meanwhile"):
        add(tuesday, study)
    assert (study / "study.toml").read_bytes() == toml
    assert sorted(p.name for p in (study / "data").iterdir()) == [
        "cu1_blank.csv",
        "ni1_1mM.csv",
        "ni1_blank.csv",
    ]


@pytest.mark.skipif(os.name == "nt", reason="such names cannot be made there")
@pytest.mark.parametrize("name", ["a\nb.csv", "a\tb.csv", "a\\b.csv", "\x1b[31m.csv", "\u202egpj.csv"])
def test_hostile_names(study: Path, tuesday: Path, sweep: Callable[..., str], name: str) -> None:
    (tuesday / name).write_text(sweep(5e-5), encoding="utf-8")
    before = state(study)
    with pytest.raises(StudyError, match="holds characters that cannot be written"):
        add(tuesday, study)
    assert state(study) == before


def test_odd_names_are_kept_as_they_are(study: Path, tmp_path: Path, sweep: Callable[..., str]) -> None:
    folder = tmp_path / "odd"
    folder.mkdir()
    names = ['=1+1, "q".csv', "#x; y.csv", "[electrodes.Ni-1].csv", "µ ł 電.csv"]
    for n, name in enumerate(names):
        (folder / name).write_text(sweep(1e-6 + n * 1e-7), encoding="utf-8")
    add(folder, study)
    assert set(names) <= set(rows_of(study))
    assert StudyEdit(study).get("electrodes.Ni-1.area") == "0.0707 cm^2"


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_link_that_leads_out_of_the_study(study: Path, tuesday: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (study / "data" / "out").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(StudyError, match="link that leaves the study folder"):
        add(tuesday, study, below="out")
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_what_is_no_study_and_what_is_broken(study: Path, tuesday: Path, tmp_path: Path) -> None:
    (tmp_path / "none").mkdir()
    with pytest.raises(StudyError, match="is not a study"):
        add(tuesday, tmp_path / "none")
    with pytest.raises(StudyError, match="does not exist"):
        add(tuesday, tmp_path / "nowhere")
    with pytest.raises(StudyError, match="is the study itself"):
        add(study, study)
    with pytest.raises(StudyError, match="not a folder"):
        add(tmp_path / "nothing", study)
    for wrong in (
        'file,electrode\n"data/x',
        "file,electrode,technique\ndata/ni1_blank.csv,Ni-9,cyclic voltammogram\n",
    ):
        (study / "runs.csv").write_text(wrong, encoding="utf-8")
        before = state(study)
        with pytest.raises(StudyError, match="must be mended before files are added; `halfcell check"):
            add(tuesday, study)
        assert state(study) == before


def test_a_study_with_open_questions_takes_files(
    tmp_path: Path, sweep: Callable[..., str], tuesday: Path
) -> None:
    loose = tmp_path / "loose"
    loose.mkdir()
    (loose / "Ni-1_cv_1mM_50mVs.csv").write_text(sweep(1e-5), encoding="utf-8")
    study = intake(loose, tmp_path / "study").folder
    added = add(tuesday, study)
    assert added.rows == 3
    assert all("still to be filled in" in p.what for p in check(study) if p.severity == "error")


def test_intake_csv_that_is_another_table_is_left_alone(study: Path, tuesday: Path) -> None:
    (study / "intake.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    before = state(study)
    with pytest.raises(StudyError, match=r"intake\.csv has no columns file and sha256"):
        add(tuesday, study)
    assert state(study) == before


def test_solutions_are_asked_for_where_the_names_tell_none(
    study: Path, tmp_path: Path, sweep: Callable[..., str]
) -> None:
    edit = StudyEdit(study)
    edit.add_solution("acid", {"description": "0.1 M H2SO4"})
    edit.save()
    runs = RunsEdit(study)
    runs.set(3, "solution", "acid")
    runs.save()
    (tmp_path / "Ni-1_cv_5mM_50mVs.csv").write_text(sweep(5e-5), encoding="utf-8")
    added = add(tmp_path / "Ni-1_cv_5mM_50mVs.csv", study)
    assert rows_of(study)["Ni-1_cv_5mM_50mVs.csv"]["solution"] == "?"
    assert any("in which solution was it taken?" in question for question in added.questions)
