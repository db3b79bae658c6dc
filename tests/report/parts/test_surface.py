"""The words about a surface: one short paragraph a group, no claim that the verdict does not carry."""

from __future__ import annotations

from dataclasses import replace

from halfcell.finding import Finding
from halfcell.report.parts._surface import in_detail, in_short

_NAN = float("nan")


def electrode(
    name: str, *, group: str = "copper", count: float = 200, verdict: str = "clustered", ratio: float = 1.16
) -> list[Finding]:
    def one(what: str, value: float, u: float, unit: str, text: str = "", *notes: str) -> Finding:
        return Finding(
            name=what, value=value, standard_uncertainty=u, unit=unit, degrees_of_freedom=5.0, electrode=name, group=group,
            recordings=("a",), method="m", source="s", settings={}, notes=notes, condition="", text=text,
        )  # fmt: skip

    found = [one("particles_counted", count, _NAN, "1")]
    if count:
        found += [
            one("particle_diameter", 60.0 + count / 100, 1.5, "nm"),
            one("size_spread", 0.4, 0.02, "1"),
            one("particle_density", 50.0, 3.0, "1/um^2"),
            one("coverage", 15.0, 1.0, "percent"),
            one("evenness_ratio", ratio, 0.03, "1", "", "the same particles at random without overlap: 1.270"),
            one("evenness", _NAN, _NAN, "1", verdict, "p = 0.010 against 199 random placements in each of 3 fields"),
        ]  # fmt: skip
    return found


def test_a_group_is_one_paragraph_that_begins_with_a_capital() -> None:
    said = [t.text for t in in_short([*electrode("Cu-1"), *electrode("Cu-2", count=300)])]
    assert len(said) == 2
    assert said[1].startswith("In brackets: the lowest and the highest electrode")
    assert said[0].startswith("Copper: 500 particles on 2 electrodes, mean diameter 62.5 nm (62.0 to 63.0)")
    assert "50.0 on each µm²" in said[0] or "50.0 (50.0 to 50.0) on each µm²" in said[0]
    assert "Their arrangement on both electrodes is clustered" in said[0]


def test_a_ratio_above_one_beside_clusters_is_explained_once() -> None:
    said = [t.text for t in in_short([*electrode("Cu-1"), *electrode("Ru-1", group="ruthenium")])]
    assert len(said) == 3
    assert "Evenness ratio: 1.16; at random it would be 1.27." in said[0]
    assert said[2].startswith("An evenness ratio above 1 can go with clusters")
    assert len(list(in_short(electrode("Cu-1", ratio=0.9)))) == 1
    assert len(list(in_short(electrode("Cu-1", verdict="even")))) == 1


def test_random_is_only_not_shown_to_differ() -> None:
    both = [*electrode("Ru-1"), *electrode("Ru-2", verdict="random")]
    said = next(iter(in_short(both))).text
    assert "clustered on Ru-1; not shown to differ from random on Ru-2" in said
    alone = next(iter(in_short(electrode("Ru-2", verdict="random")))).text
    assert "Their arrangement is not shown to differ" in alone


def test_nothing_found_is_said() -> None:
    nothing = electrode("bare-1", group="bare carbon", count=0)
    assert [t.text for t in in_short(nothing)] == ["Bare carbon: no particle was found on bare-1."]
    assert [t.text for t in in_detail(nothing)] == ["Bare carbon. On bare-1 no particle was found."]
    mixed = next(iter(in_short([*electrode("Cu-1"), *electrode("Cu-2", count=0)]))).text
    assert "No particle was found on Cu-2." in mixed


def test_an_electrode_is_a_sentence_with_intervals() -> None:
    said = next(iter(in_detail(electrode("Cu-1")))).text
    # 62 ± 1.5 nm with 5 degrees of freedom: Student's t of 2.571 gives 58.1 to 65.9.
    assert "of mean diameter 62.0 nm (95 % interval 58.1 to 65.9)" in said
    assert "cover 15.0 % (95 % interval 12.4 to 17.6) of the surface" in said
    assert "in doubt" not in said


def test_brackets_do_not_stand_in_brackets() -> None:
    note = "p = 0.010 (nearest distances 0.020, Ripley's L 0.005) against 199 random placements in each of 3 fields"
    found = [replace(f, notes=(note,)) if f.name == "evenness" else f for f in electrode("Cu-1")]
    two = replace(
        found[0],
        name="size_populations",
        value=2.0,
        notes=("a count by a criterion", "medians 20.0 and 40.0 nm"),
    )
    said = next(iter(in_detail([*found, two]))).text
    assert "(p = 0.010; of nearest distances 0.020, Ripley's L 0.005; evenness ratio 1.160 ± 0.030)" in said
    assert "two populations (medians 20.0 and 40.0 nm)" in said


def test_doubtful_outlines_are_said_in_both() -> None:
    doubted = [
        replace(f, notes=(*f.notes, "the outlines of 1 of 3 fields are in doubt (a.png); see the warnings"))
        for f in electrode("Cu-1")
    ]
    both = [*doubted, *electrode("Cu-2")]
    assert "The outlines on Cu-1 are in doubt (see the warnings)" in next(iter(in_short(both))).text
    assert "Its outlines are in doubt" in next(iter(in_detail(both))).text
