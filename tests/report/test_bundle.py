from __future__ import annotations

import json

import pytest

from halfcell.errors import HalfcellError
from halfcell.report.bundle import write_report


def test_the_files_of_a_report(analysis, folder):
    written = write_report(analysis, figures=0)
    assert written.folder == folder / "report"
    names = sorted(p.name for p in written.folder.iterdir())
    assert names == [
        "findings.csv",
        "findings.json",
        "findings.xlsx",
        "methods.txt",
        "report.html",
        "report.pdf",
    ]
    assert all(p.stat().st_size > 100 for p in written.files)
    table = json.loads((written.folder / "findings.json").read_text("utf-8"))
    assert table["format"] == 1
    assert len(table["findings"]) == len(analysis.findings)


def test_only_its_own_files_are_replaced(analysis, tmp_path):
    target = tmp_path / "elsewhere"
    target.mkdir()
    (target / "notes.txt").write_text("mine", "utf-8")
    (target / "report.html").write_text("old", "utf-8")
    write_report(analysis, target, parts=["chooses"], figures=0)
    assert (target / "notes.txt").read_text("utf-8") == "mine"
    assert "<!doctype html>" in (target / "report.html").read_text("utf-8")
    assert len(list(target.iterdir())) == 7


def test_a_report_folder_that_is_a_link_is_refused(analysis, folder, tmp_path):
    outside = tmp_path / "outside"
    outside.mkdir()
    try:
        (folder / "report").symlink_to(outside, target_is_directory=True)
    except OSError:
        pytest.skip("this system makes no links")
    with pytest.raises(HalfcellError, match="is a link"):
        write_report(analysis, figures=0)
    assert list(outside.iterdir()) == []


def test_a_file_in_the_way_is_said(analysis, tmp_path):
    (tmp_path / "taken").write_text("", "utf-8")
    with pytest.raises(HalfcellError, match="cannot be made"):
        write_report(analysis, tmp_path / "taken", figures=0)
