"""The folder the demo writes: complete, labelled, repeatable, and without its truth."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from halfcell.demo import Truth, write
from halfcell.errors import HalfcellError
from halfcell.study import open_study


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    base = tmp_path_factory.mktemp("demo")
    return base / "study", write(base / "study", small=True, truth=base / "truth.json")


def test_the_folder_says_first_that_it_is_invented(written: tuple[Path, Truth]) -> None:
    text = (written[0] / "study.toml").read_text(encoding="utf-8")
    assert text.splitlines()[0] == "# The data in this folder are invented."


def test_every_file_of_a_run_is_there_and_every_file_has_a_run(written: tuple[Path, Truth]) -> None:
    folder, truth = written
    study = open_study(folder)
    named = {path for run in study.runs for path in (run.file, run.log) if path}
    there = {p.relative_to(folder).as_posix() for d in ("data", "images") for p in (folder / d).iterdir()}
    assert named == there
    assert len(study.runs) == truth.files


def test_the_truth_is_not_in_the_folder(written: tuple[Path, Truth]) -> None:
    folder, truth = written
    assert not list(folder.rglob("*truth*"))
    text = (folder / "study.toml").read_text(encoding="utf-8") + (folder / "runs.csv").read_text(
        encoding="utf-8"
    )
    for electrode in truth.electrodes.values():
        for value in (electrode.sensitivity, electrode.capacitance):
            assert f"{value:.5g}" not in text


def test_the_truth_is_read_back_as_it_was_stored(written: tuple[Path, Truth]) -> None:
    assert Truth.load(written[0].parent / "truth.json") == written[1]


def test_a_seed_gives_the_same_bytes_and_another_seed_others(
    written: tuple[Path, Truth], tmp_path: Path
) -> None:
    write(tmp_path / "again", small=True)
    write(tmp_path / "other", small=True, seed=7)

    def digests(folder: Path) -> dict[str, str]:
        return {
            p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
            for p in sorted(folder.rglob("*"))
            if p.is_file()
        }

    first = digests(written[0])
    assert digests(tmp_path / "again") == first
    other = digests(tmp_path / "other")
    assert other.keys() == first.keys()
    assert other["data/Ni-1_additions.txt"] != first["data/Ni-1_additions.txt"]


def test_a_study_is_not_written_over(written: tuple[Path, Truth]) -> None:
    with pytest.raises(HalfcellError, match="already holds a study"):
        write(written[0], small=True)
