from __future__ import annotations

import pytest

from halfcell.report.figure_set import file_name, save_figures


def test_every_figure_becomes_a_file_of_its_own(analysis, drawing, tmp_path):
    saved = save_figures(analysis, tmp_path / "out", format="png", dpi=60)
    assert len(saved.files) == len(set(saved.files)) == 3
    assert all(f.parent == tmp_path / "out" / "figures" for f in saved.files)
    assert all(f.read_bytes().startswith(b"\x89PNG") for f in saved.files)
    assert "ni-1" in saved.files[0].name


def test_a_figure_that_fails_does_not_stop_the_others(analysis, tmp_path, monkeypatch):
    import halfcell.report.figures as figures

    def draw(exhibit, colours):
        if exhibit.electrode == "Ni-2":
            raise ValueError("cannot be drawn on a log scale")
        from halfcell.report.figures.style import axes

        return axes()[0]

    monkeypatch.setattr(figures, "DRAWINGS", {"test_curve": draw})
    saved = save_figures(analysis, tmp_path)
    assert len(saved.files) == 2
    assert "Voltammogram of Ni-2" in saved.problems[0].what


def test_a_width_that_cannot_be_is_an_error(analysis, drawing, tmp_path):
    with pytest.raises(ValueError, match="20 mm"):
        save_figures(analysis, tmp_path, width=3.0)


def test_names_differ_where_keys_do(analysis):
    from dataclasses import replace

    one = analysis.exhibits[0]
    assert file_name(one) != file_name(replace(one, key="another"))
    assert file_name(replace(one, electrode="a/../b?")).isascii()
    assert "/" not in file_name(replace(one, electrode="a/../b?"))
