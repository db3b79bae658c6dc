from __future__ import annotations

from dataclasses import replace

import pytest

from halfcell.cache import Cache
from halfcell.errors import HalfcellError
from halfcell.report import pdf
from halfcell.report.blocks import Part, Section, Table, Text
from halfcell.report.content import Content
from halfcell.report.drawn import Drawn
from halfcell.report.html import html_report
from halfcell.report.pdf import ROWS, pdf_report

pypdfium2 = pytest.importorskip("pypdfium2")


def words(data: bytes) -> str:
    with pypdfium2.PdfDocument(data) as document:
        pages = []
        for page in document:
            text = page.get_textpage()
            pages.append(text.get_text_range())
            text.close()
            page.close()
    return " ".join(" ".join(pages).replace("\u200b", "").split())


def said(*blocks) -> Content:
    part = Part(place="Made", question="What?", sections=(Section(title="S", blocks=blocks),))
    return Content(title="T", subtitle="", notice="", parts=(part,))


def test_the_paper_says_what_the_page_says(analysis, drawing, hostile):
    page = html_report(analysis, cores=1, cache=Cache(None))
    text = words(pdf_report(page.said, page.drawn))
    assert "Nitrite <at> four metals" in text
    assert "Invented data" in text
    assert "12.35 ± 0.40" in text
    assert hostile in text.replace("”", '"')
    assert text.index("Which electrode goes forward") < text.index("What is on the surface")


@pytest.mark.parametrize(
    "text", ["#panic[x]", "*a* _b_ $c$ @d <e>", '#read("/etc/passwd")', "\\ ` // /* ", "= h", "a" * 3000]
)
def test_words_are_never_markup(text):
    shown = words(pdf_report(said(Text(text=text), Table(title=text, head=("a",), rows=((text,),))), Drawn()))
    assert "".join(text.split())[:40] in "".join(shown.split())


def test_a_table_that_is_too_long_says_what_is_left_out():
    rows = tuple((str(i),) for i in range(ROWS + 30))
    assert "30 further rows are in the spreadsheet" in words(
        pdf_report(said(Table(title="", head=("a",), rows=rows)), Drawn())
    )


def test_a_table_of_nothing_is_set():
    assert "none" in words(pdf_report(said(Table(title="", head=("a", "b"), rows=())), Drawn()))


def test_the_same_content_gives_the_same_bytes():
    content = replace(said(Text(text="x")), title="Same")
    assert pdf_report(content, Drawn()) == pdf_report(content, Drawn())


def test_a_report_that_cannot_be_set_says_why(monkeypatch):
    monkeypatch.setattr(pdf, "_SET", "import sys; sys.exit('no such letter')")
    with pytest.raises(HalfcellError, match="no such letter"):
        pdf_report(said(Text(text="a")), Drawn())


def test_files_of_the_current_folder_are_no_part_of_the_typesetter(monkeypatch, tmp_path):
    (tmp_path / "typst.py").write_text("raise SystemExit('a file that happened to lie there')", "utf-8")
    monkeypatch.chdir(tmp_path)
    assert "text" in words(pdf_report(said(Text(text="text")), Drawn()))
