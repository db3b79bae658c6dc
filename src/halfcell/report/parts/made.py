"""What is on the surface: each field with its outlines, sizes, arrangement, and plain words with numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfcell.report.blocks import Part, Picture, Section, Table, Text
from halfcell.report.parts._surface import VERDICTS_IN_BRIEF, in_detail, in_short
from halfcell.report.tables import by_electrode, findings_table, place_of
from halfcell.units import number

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.outcome import Analysis, Exhibit
    from halfcell.report.blocks import Block

_TABLES = {
    "Sizes": (
        ("particle_diameter", "particle_diameter_median", "volume_mean_diameter", "particles_counted", "particles_needed"),
        ("size_spread", "size_spread_absolute", "size_interquartile", "size_populations"),
    ),
    "Surface": (
        ("particle_density", "coverage", "particle_gap", "in_contact", "agglomerates_counted", "agglomerated"),
        ("metal_area_ratio", "metal_mass_per_area", "deposited_mass_per_area"),
    ),
    "Arrangement": (("evenness", "evenness_ratio", "quadrat_dispersion"),),
}  # fmt: skip
"""The tables of each section, few enough columns each to be read without moving them sideways."""


_FURTHER = {
    "diffusion_overlap": "From surface to current",
    "variance_share": "Where sizes vary",
    "adjustment_effect": "Adjusted by hand",
}
_KINDS = ("micrograph", "sizes", "evenness", "density map")


def part(analysis: Analysis) -> Part:
    """The part "Made" of the report."""
    rows = [f for f in analysis.findings if place_of(f) == "Made"]
    question = "What is on the surface?"
    if not rows:
        return Part(place="Made", question=question)
    short, detail = tuple(in_short(rows)), tuple(in_detail(rows))
    sections = [Section(title="In short", blocks=short)] if short else []
    if detail:
        sections.append(Section(title="Electrode by electrode", blocks=detail, folded=True))
    for title, tables in _TABLES.items():
        blocks: list[Block] = [
            _table(rows, names)
            for names in tables
            if any(f.name in names and f.electrode and not f.condition for f in rows)
        ]
        if not blocks:
            continue
        blocks += _warnings(analysis) if title == "Sizes" else []
        sections.append(Section(title=title, blocks=tuple(blocks)))
    for name, title in _FURTHER.items():
        own = [f for f in rows if f.name == name]
        if own:
            sections.append(Section(title=title, blocks=(findings_table("", own),), folded=len(own) > 16))
    known = {name for tables in _TABLES.values() for names in tables for name in names} | set(_FURTHER)
    rest = [f for f in rows if f.name not in known or not (f.electrode or f.name in _FURTHER)]
    if rest:
        sections.append(Section(title="Further findings", blocks=(findings_table("", rest),)))
    sections += _drawn(analysis)
    return Part(place="Made", question=question, sections=tuple(sections))


def _table(rows: Iterable[Finding], names: tuple[str, ...]) -> Table:
    return by_electrode("", rows, names, keep=lambda f: not f.condition)


def _warnings(analysis: Analysis) -> list[Block]:
    """Doubts about images, from the exhibits that hold them."""
    out: list[Block] = []
    for exhibit in analysis.shown("Made", "micrograph"):
        out += [Text(text=f"{exhibit.title}: {said}", tone="caution") for said in exhibit.data["warnings"]]
    return out


def _drawn(analysis: Analysis) -> list[Section]:
    """Figures: one field an electrode open, the others folded."""
    out = []
    seen: set[str] = set()
    fields: list[Picture] = []
    for e in analysis.shown("Made", "micrograph"):
        fields.append(Picture(exhibit=e, caption=_caption(e), alt=f"Micrograph of {e.electrode} with outlines of the particles found.", folded=e.electrode in seen))  # fmt: skip
        seen.add(e.electrode)
    if fields:
        out.append(Section(title="Micrographs", blocks=tuple(fields)))
    histograms = tuple(
        Picture(exhibit=e, caption=f"{e.title}: histogram with the models fitted, each particle a tick; particles cut by the frame are left out and the others weighted for it.")
        for e in analysis.shown("Made", "sizes")
    )  # fmt: skip
    if histograms:
        out.append(Section(title="Size distributions", blocks=histograms))
    arranged: list[Picture] = []
    seen = set()
    for kind, words in (
        (
            "evenness",
            "nearest-neighbour distances, and Ripley's L beside random placements of the same particles",
        ),
        (
            "density map",
            "local density; solid lines enclose places denser, dashed ones barer, than random placements reach anywhere",
        ),
    ):
        for e in analysis.shown("Made", kind):
            arranged.append(
                Picture(
                    exhibit=e,
                    caption=f"{e.title}: {words}.",
                    folded=kind != "evenness" or e.electrode in seen,
                )
            )
            seen.add(e.electrode)
    if arranged:
        out.append(Section(title="Arrangement of the particles", blocks=tuple(arranged)))
    others = tuple(
        Picture(exhibit=e, caption=e.title, folded=True)
        for e in analysis.shown("Made")
        if e.kind not in _KINDS
    )
    if others:
        out.append(Section(title="Further figures", blocks=others))
    return out


def field_sentence(exhibit: Exhibit) -> str:
    """What one field gave, in words."""
    data = exhibit.data
    if "counted" not in data:
        return f"{exhibit.title}: {len(data['x'])} outlines."
    text = f"{exhibit.title}: {data['counted']} particles"
    if math.isfinite(data["mean_nm"]):
        text += f" of mean diameter {number(data['mean_nm'])} nm"
    text += (
        f", {number(data['per_um2'])} on each µm², covering {number(data['covered_percent'])} % of the field"
    )
    if data["masked_percent"]:
        text += f" ({number(data['masked_percent'])} % of it masked and left out)"
    if data["agglomerates"]:
        text += f", and {data['agglomerates']} agglomerate{'s' if data['agglomerates'] > 1 else ''}"
    if data["verdict"]:
        text += f"; {VERDICTS_IN_BRIEF[data['verdict']]} (p = {data['p']:.3f} of this field alone)"
    elif data["counted"]:
        text += f"; arrangement not judged: {data['why_not_judged']}"
    return text.rstrip(".") + "."


def _caption(exhibit: Exhibit) -> str:
    data = exhibit.data
    text = field_sentence(exhibit)
    text += f" Outlines at half height; {data['nm_per_pixel']:.3g} nm per pixel."
    if data["bar_rows"]:
        text += f" {data['bar_rows']} rows of a data bar were cut off."
    return text
