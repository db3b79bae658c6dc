from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from halfcell.cache import Cache
from halfcell.report import html as report_html
from halfcell.report.html import html_report

VOID = {"meta", "br", "link", "img", "hr", "input"}


class Reader(HTMLParser):
    """Collects ids, links and tags, and insists that every element is closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value)
            if name in {"href", "xlink:href", "src"}:
                self.links.append(value)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture
def page(analysis, drawing, tmp_path) -> str:
    return html_report(analysis, cores=1, cache=Cache(tmp_path / "c")).html


def test_the_page_is_well_formed_and_needs_nothing_from_elsewhere(page):
    reader = read(page)
    assert all(link.startswith(("#", "data:")) for link in reader.links)
    assert "script" not in reader.tags
    assert not re.search(r"@import|url\((?!#)", page)
    assert len(reader.ids) == len(set(reader.ids))
    inside = {link[1:] for link in reader.links if link.startswith("#")}
    assert inside <= set(reader.ids)


def test_the_choice_stands_first_and_the_evidence_follows_the_questions(page):
    places = re.findall(r'<span class="place">([^<]+)</span>', page)
    assert places == [
        "Chooses",
        "Made",
        "Responds",
        "Quantifies",
        "Confounds",
        "Methods",
        "Cautions",
        "Appendix",
    ]


def test_a_hostile_name_is_shown_and_never_becomes_markup(page, hostile):
    assert hostile not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<title>Nitrite &lt;at&gt; four metals</title>" in page
    assert hostile in "".join(read(page).words)


def test_invented_data_are_said_at_the_top(page, analysis, folder, tmp_path):
    assert '<p class="invented" role="note">Invented data, for trying things out.</p>' in page
    file = folder / "study.toml"
    file.write_text(file.read_text("utf-8").replace("# Invented data", "# Measured data"), "utf-8")
    assert 'class="invented"' not in html_report(analysis, parts=["methods"], cores=1).html


def test_values_stand_with_their_uncertainty_and_unit(page):
    words = re.sub(r"<[^>]+>", "", page)
    assert "12.35 ± 0.40" in words
    assert "9.100 ± 0.040" in words
    assert "Sensitivity / µA mM⁻¹" in words


def test_a_figure_is_drawn_once_for_each_exhibit_with_its_words(page):
    assert page.count('<svg role="img"') == 3
    assert "<title>Voltammogram of Ru-1</title>" in page
    assert re.search(r"<text [^>]*>i / µA</text>", page)


def test_figures_beyond_the_limit_are_named(analysis, drawing):
    page = html_report(analysis, figures=1, cores=1, cache=Cache(None)).html
    assert page.count('<svg role="img"') == 1
    assert "2 further figures not drawn in this report" in page
    assert "--figures 3</code>" in page


def test_a_figure_that_fails_is_said_in_the_page_and_in_the_problems(analysis, monkeypatch):
    import halfcell.report.figures as figures

    def broken(exhibit, colours):
        raise ZeroDivisionError("nothing to draw")

    monkeypatch.setattr(figures, "DRAWINGS", {"test_curve": broken})
    made = html_report(analysis, cores=1, cache=Cache(None))
    assert made.html.count("Could not be drawn") == 3
    assert "nothing to draw" in made.problems[0].what


def test_a_row_of_folded_figures_opens_as_one(page):
    assert page.count("3 figures: Voltammogram of Ni-1 … Voltammogram of Ru-1") == 1


def test_a_part_that_fails_is_said_in_the_page_and_in_the_problems(analysis, monkeypatch):
    from halfcell.report import content

    def broken(analysis):
        raise KeyError("peak")

    monkeypatch.setattr(content, "PARTS", {"made": broken})
    made = html_report(analysis, figures=0)
    assert "The part &#39;made&#39; of the report could not be written" in made.html
    assert len(made.problems) == 1


def test_only_the_parts_asked_for_are_written(analysis):
    page = html_report(analysis, parts=["Methods", "appendix"], figures=0).html
    assert re.findall(r'<span class="place">([^<]+)</span>', page) == ["Methods", "Appendix"]
    with pytest.raises(ValueError, match=r"There is no part 'nonsense'.*chooses, made"):
        html_report(analysis, parts=["nonsense"])


def test_the_same_analysis_gives_the_same_page(analysis, drawing, page, tmp_path):
    assert html_report(analysis, cores=1, cache=Cache(None)).html == page
    assert html_report(analysis, cores=1, cache=Cache(tmp_path / "c")).html == page


def test_the_appendix_holds_hashes_adjustments_problems_and_the_study_file(page, analysis):
    for sha256 in analysis.files.values():
        assert sha256 in page
    assert "the shoulder is not the peak" in page
    assert "No peak was found." in page
    assert "reference_electrode = &#34;Ag/AgCl, 3 M KCl&#34;" in page


def test_a_study_without_findings_still_has_a_report(analysis):
    from halfcell.finding import Findings

    empty = replace(analysis, findings=Findings(()), exhibits=(), problems=())
    page = html_report(empty, cores=1).html
    read(page)
    assert "No choice was made" in page


def test_anchor():
    assert report_html.anchor("Made", 2) == "made-2"
    assert report_html.anchor("§") == "part"
