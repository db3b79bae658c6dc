from __future__ import annotations

import io

import pytest

from halfcell.report.figures.files import figure_file

SHADES = {"nickel": "#0072B2"}


def test_a_png_has_the_stated_width_and_resolution(analysis, drawing):
    from PIL import Image

    image = Image.open(
        io.BytesIO(figure_file(analysis.exhibits[0], SHADES, format="png", width=0.085, dpi=600))
    )
    assert abs(image.width - 0.085 / 0.0254 * 600) <= 1
    assert image.info["dpi"][0] == pytest.approx(600, rel=1e-3)


def test_a_pdf_has_the_stated_width_and_keeps_its_text(analysis, drawing):
    pypdfium2 = pytest.importorskip("pypdfium2")
    data = figure_file(analysis.exhibits[0], SHADES, format="pdf", width=0.085)
    with pypdfium2.PdfDocument(data) as document:
        page = document[0]
        assert page.get_width() == pytest.approx(0.085 / 0.0254 * 72, abs=0.5)
        text = page.get_textpage()
        assert "Voltammogram of Ni-1" in text.get_text_range()
        text.close()
        page.close()


def test_an_svg_is_the_same_each_time(analysis, drawing):
    first = figure_file(analysis.exhibits[0], SHADES)
    assert first.startswith(b"<?xml")
    assert first == figure_file(analysis.exhibits[0], SHADES)


def test_what_cannot_be_saved_is_said(analysis, drawing):
    with pytest.raises(ValueError, match="svg, pdf, png"):
        figure_file(analysis.exhibits[0], SHADES, format="gif")
    with pytest.raises(ValueError, match="20 mm to 1 m"):
        figure_file(analysis.exhibits[0], SHADES, width=8.5)
