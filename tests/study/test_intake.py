from __future__ import annotations

import csv
import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from halfcell.errors import StudyError
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.intake import Intake, intake
from halfcell.study.load import check, open_study


@pytest.fixture
def exports(tmp_path: Path, sweep: Callable[..., str]) -> Path:
    folder = tmp_path / "exports"
    (folder / "Ru1").mkdir(parents=True)
    (folder / "Ni-1_cv_blank_50mVs.csv").write_text(sweep(), encoding="utf-8")
    (folder / "Ni-1_cv_1mM_50mVs.csv").write_text(sweep(1e-5, cycles=2), encoding="utf-8")
    (folder / "Ni-1_1mM_air.csv").write_text(sweep(1e-5, rate=0.1), encoding="utf-8")
    (folder / "Ru1" / "sweep 0.2mM.csv").write_text(sweep(1e-6), encoding="utf-8")
    bare = "\n".join(f"{a} {b}" for a, b in zip(np.arange(50) * 7, np.arange(50) ** 2, strict=True))
    (folder / "Cu-1_cv_blank.dat").write_text(bare, encoding="utf-8")
    (folder / "Cu-2_cv_blank.dat").write_text(bare, encoding="utf-8")
    time = np.arange(4000) * 0.1
    rows = [f"{t:.1f},{1e-7 * np.floor(t / 50) + 1e-10 * (i % 7):.6e}" for i, t in enumerate(time)]
    (folder / "Ni-1_additions.csv").write_text("t/s,i/A\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (folder / "Ni-1_additions_log.csv").write_text(
        "time,volume,concentration\n50 s,10 uL,10 mmol/L\n", encoding="utf-8"
    )
    Image.fromarray(np.zeros((40, 50), dtype=np.uint8)).save(folder / "Ni-1_sem1.png")
    (folder / "README.md").write_text("notes", encoding="utf-8")
    (folder / ".hidden").write_text("x", encoding="utf-8")
    return folder


def taken(made: Intake) -> dict[str, str]:
    return {t.source: t.file for t in made.files}


def rows_of(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "runs.csv").open(encoding="utf-8", newline="") as source:
        return {row["file"]: row for row in csv.DictReader(source)}


def test_every_file_is_copied_and_its_hash_recorded(exports: Path, tmp_path: Path) -> None:
    before = {p: p.read_bytes() for p in exports.rglob("*") if p.is_file()}
    made = intake(exports, tmp_path / "study")
    assert {p: p.read_bytes() for p in exports.rglob("*") if p.is_file()} == before
    with (tmp_path / "study" / "intake.csv").open(encoding="utf-8", newline="") as source:
        recorded = {row["copied_from"]: row for row in csv.DictReader(source)}
    assert set(recorded) == {p.relative_to(exports).as_posix() for p in before if p.name != ".hidden"}
    for name, row in recorded.items():
        assert (tmp_path / "study" / row["file"]).read_bytes() == before[exports / name]
        assert row["sha256"] == hashlib.sha256(before[exports / name]).hexdigest()
    assert taken(made)["README.md"] == "notes/README.md"
    assert taken(made)["Ni-1_sem1.png"] == "images/Ni-1_sem1.png"
    assert taken(made)["Ru1/sweep 0.2mM.csv"] == "data/Ru1/sweep 0.2mM.csv"


def test_guesses_and_their_marks(exports: Path, tmp_path: Path) -> None:
    made = intake(exports, tmp_path / "study")
    rows = rows_of(tmp_path / "study")
    one = rows["data/Ni-1_cv_1mM_50mVs.csv"]
    assert (one["electrode"], one["technique"], one["concentration"], one["scan_rate"]) == (
        "Ni-1",
        "cyclic voltammogram",
        "1 mmol/L",
        "50 mV/s",
    )
    assert one["note"] == "2 cycles"
    assert "scan_rate from the name and the data" in one["guessed"]
    air = rows["data/Ni-1_1mM_air.csv"]
    assert (air["technique"], air["scan_rate"], air["solution"]) == (
        "cyclic voltammogram",
        "100 mV/s",
        "electrolyte-air",
    )
    assert "technique from the shape of the potential" in air["guessed"]
    assert rows["data/Ru1/sweep 0.2mM.csv"]["electrode"] == "Ru1"
    assert rows["data/Ru1/sweep 0.2mM.csv"]["technique"] == "cyclic voltammogram"  # it comes back
    assert rows["data/Ni-1_additions.csv"]["log"] == "data/Ni-1_additions_log.csv"
    assert rows["images/Ni-1_sem1.png"]["technique"] == "micrograph"
    toml = (tmp_path / "study" / "study.toml").read_text("utf-8")
    assert 'material = "nickel"  # guessed from the name' in toml
    assert 'files = "Cu-*_cv_blank.dat"' in toml
    asked = "\n".join(made.questions)
    for topic in (
        "analyte",
        "reference_electrode",
        "oxidation_current",
        "area",
        "start_volume",
        "readers.cu",
        "step_potential",
        "scale",
        "solutions.electrolyte-air",
    ):
        assert topic in asked


def test_a_table_of_readers_speaks_of_no_file_that_can_be_read(
    tmp_path: Path, sweep: Callable[..., str]
) -> None:
    bare = "\n".join(f"{7 * k} {k * k}" for k in range(50))
    for name, text in {"Ni_a": bare, "Cu_b": bare, "Ru_c": sweep()}.items():
        (tmp_path / f"{name}.dat").write_text(text, encoding="utf-8")
    made = intake(tmp_path, tmp_path.parent / f"{tmp_path.name}-study")
    tables = StudyEdit(made.folder).get("readers")
    assert sorted(table["files"] for table in tables.values()) == ["Cu_b.dat", "Ni_a.dat"]
    for key in tables:
        assert any(f"readers.{key}:" in question for question in made.questions)


def test_check_asks_for_what_is_left_and_the_answers_make_it_right(exports: Path, tmp_path: Path) -> None:
    folder = tmp_path / "study"
    intake(exports, folder)
    left = [p for p in check(folder) if p.severity == "error"]
    assert left
    assert all("still to be filled in" in p.what for p in left), "\n".join(map(str, left))
    assert all(p.example for p in left)
    edit = StudyEdit(folder)
    edit.set("analyte", "nitrite")
    edit.set("reference_electrode", "Ag/AgCl, 3 M KCl")
    for name in edit.get("solutions"):
        edit.set(("solutions", name, "description"), "0.1 mol/L phosphate buffer")
    edit.set("confounders.oxygen.level", "0.26 mmol/L")
    edit.set("analysis.amperometry.start_volume", "20 mL")
    for name in edit.get("electrodes"):
        edit.set(("electrodes", name, "area"), "0.0707 cm^2")
    reader = next(iter(edit.get("readers")))
    edit.set(f"readers.{reader}.columns", {"potential": 1, "current": 2})
    edit.set(f"readers.{reader}.units", {"potential": "mV", "current": "nA"})
    edit.save()
    assert [p for p in check(folder) if p.severity == "error"] == []
    assert len(open_study(folder).runs) == 8
    runs = RunsEdit(folder)
    for row in runs.rows:
        runs.set(row, "guessed", "")
    runs.save()
    assert all(not run.guessed for run in open_study(folder).runs)


def test_a_folder_in_use_is_refused_and_nothing_is_left_behind(exports: Path, tmp_path: Path) -> None:
    (tmp_path / "study").mkdir()
    (tmp_path / "study" / "mine.txt").write_text("x")
    with pytest.raises(StudyError, match="not empty"):
        intake(exports, tmp_path / "study")
    with pytest.raises(StudyError, match="not a folder"):
        intake(tmp_path / "nothing", tmp_path / "new")
    (tmp_path / "empty").mkdir()
    with pytest.raises(StudyError, match="no files"):
        intake(tmp_path / "empty", tmp_path / "new")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["empty", "exports", "study"]


def test_a_failure_half_way_leaves_nothing(
    exports: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copyfile", full)
    with pytest.raises(StudyError, match="No space left"):
        intake(exports, tmp_path / "new")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["exports"]


def test_an_empty_folder_and_one_inside_the_source_will_do(exports: Path, tmp_path: Path) -> None:
    (tmp_path / "study").mkdir()
    intake(exports, tmp_path / "study")
    again = intake(exports, exports / "study")
    assert len(again.files) == len([p for p in exports.iterdir() if p.is_file() and p.name != ".hidden"]) + 1


def test_real_exports(shared_data: Path, tmp_path: Path) -> None:
    expected = {
        "metal_films": {
            "au111_film_KCl.csv": ("cyclic voltammogram", "50 mV/s"),
            "pt111_alkaline.csv": ("cyclic voltammogram", ""),
        },
        "ferrocene_cycles": {"ferrocene.csv": ("cyclic voltammogram", "")},
        "oxide_library": {"LSV_Co.txt": ("linear sweep", "")},
        "surface_scan_rates": {"CV_total.csv": ("cyclic voltammogram", "")},
    }
    summaries = {"oxide_library": "Tafel_slopes.txt", "surface_scan_rates": "reported_peak_summary.csv"}
    for name, files in expected.items():
        made = intake(shared_data / name, tmp_path / name)
        rows = rows_of(tmp_path / name)
        assert taken(made)["SOURCE.md"] == "notes/SOURCE.md"
        if name in summaries:
            assert taken(made)[summaries[name]] == f"notes/{summaries[name]}"
        for file, (technique, rate) in files.items():
            row = rows[f"data/{file}"]
            assert row["technique"] == technique, (file, row)
            assert row["scan_rate"] == rate, (file, row)


def test_electrolytes_in_the_names_make_solutions(shared_data: Path, tmp_path: Path) -> None:
    intake(shared_data / "metal_films", tmp_path / "study")
    rows = rows_of(tmp_path / "study")
    assert rows["data/pt111_0p1M_HClO4.csv"]["solution"] == "0.1 mol/L HClO4"
    assert rows["data/pt111_0p1M_HClO4.csv"]["concentration"] == ""
    assert rows["data/au111_film_KI.csv"]["solution"] == "KI"
    assert rows["data/au111_film_KI.csv"]["electrode"] == rows["data/au111_film_KCl.csv"]["electrode"]
    assert not [
        p for p in check(tmp_path / "study") if "solution" in p.place and "still to be filled" not in p.what
    ]


def test_a_missing_unit_is_all_that_is_asked_for(tmp_path: Path) -> None:
    source = tmp_path / "loose"
    source.mkdir()
    sweep = [*range(-30, 30), *range(30, -30, -1)]
    rows = "".join(f"{e / 100},{e**3 / 500:.4f}\n" for e in sweep)
    (source / "ni_cv_1mM.csv").write_text("E/V,current\n" + rows, "utf-8")
    made = intake(source, tmp_path / "study")
    assert any("in which unit is the current in" in q for q in made.questions)
    text = (tmp_path / "study" / "study.toml").read_text("utf-8")
    assert 'units = { current = "?" }' in text
    assert "columns =" not in text
