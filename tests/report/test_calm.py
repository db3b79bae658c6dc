from __future__ import annotations

from halfcell.pipeline.outcome import Exhibit
from halfcell.report.blocks import Part, Picture, Section, Text
from halfcell.report.calm import calm


def picture(kind: str, key: str, group: str = "", *, folded: bool = False) -> Picture:
    return Picture(
        exhibit=Exhibit(kind=kind, key=key, title=key, place="Made", group=group), caption="", folded=folded
    )


def laid_out(*blocks) -> list[str]:
    part = calm(Part(place="Made", question="", sections=(Section(title="", blocks=blocks),)))
    return [
        b.text if isinstance(b, Text) else b.exhibit.key + (" folded" if b.folded else "")
        for b in part.sections[0].blocks
    ]


def test_a_few_figures_stay_as_they_are():
    assert laid_out(picture("a", "1"), picture("a", "2"), Text(text="t"), picture("a", "3")) == [
        "1",
        "2",
        "t",
        "3",
    ]


def test_of_many_the_first_of_each_group_stays_open_and_the_rest_follows_folded():
    many = [picture("a", f"{g}{i}", g) for g in ("N", "R") for i in (1, 2, 3)]
    assert laid_out(*many) == ["N1", "R1", "N2 folded", "N3 folded", "R2 folded", "R3 folded"]


def test_at_most_four_stay_open_however_many_groups_there_are():
    done = laid_out(*(picture("a", str(i), f"g{i}") for i in range(9)))
    assert done[:4] == ["0", "1", "2", "3"]
    assert all(d.endswith("folded") for d in done[4:])


def test_kinds_do_not_mix_in_the_folded_part():
    done = laid_out(
        picture("a", "a1"),
        picture("b", "b1", folded=True),
        picture("a", "a2", folded=True),
        picture("b", "b2"),
    )
    assert done == ["a1", "b2", "a2 folded", "b1 folded"]


def test_nothing_is_lost():
    many = [picture("ab"[i % 2], str(i), str(i % 3), folded=i % 5 == 0) for i in range(40)]
    assert sorted(d.split()[0] for d in laid_out(*many)) == sorted(str(i) for i in range(40))
