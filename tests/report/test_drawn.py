from __future__ import annotations

from halfcell.pipeline.outcome import Exhibit
from halfcell.report.blocks import Part, Picture, Section
from halfcell.report.drawn import pictures


def part(place: str, *wanted: tuple[str, str, bool]) -> Part:
    blocks = tuple(
        Picture(exhibit=Exhibit(kind=kind, key=key, title=key, place=place), caption="", folded=folded)
        for kind, key, folded in wanted
    )
    return Part(place=place, question="?", sections=(Section(title="", blocks=blocks),))


def test_open_figures_come_first_and_no_kind_takes_the_place_of_another():
    made = part(
        "Made", ("image", "i1", False), ("image", "i2", False), ("image", "i3", False), ("sizes", "s1", True)
    )
    responds = part("Responds", ("trace", "t1", False), ("trace", "t2", True), ("trace", "t3", True))
    order = [p.exhibit.key for p in pictures([made, responds])]
    assert order == ["i1", "t1", "i2", "i3", "s1", "t2", "t3"]


def test_a_folded_section_folds_its_figures():
    folded = Part(
        place="M",
        question="",
        sections=(Section(title="", folded=True, blocks=part("M", ("a", "a1", False)).sections[0].blocks),),
    )
    order = [p.exhibit.key for p in pictures([folded, part("R", ("b", "b1", False))])]
    assert order == ["b1", "a1"]
