"""halfcell micrographs: what is on the surface, from the images of a study."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import Cores, Folder, analyzed, console, plain, tell_problems

if TYPE_CHECKING:
    from collections.abc import Iterable

    from halfcell.pipeline import Analysis
    from halfcell.pipeline.outcome import Exhibit

_COLUMNS = (
    "particles_counted",
    "particle_diameter",
    "size_spread",
    "particle_density",
    "coverage",
    "evenness_ratio",
    "evenness",
)


def command(
    folder: Folder,
    particles: Annotated[
        Path | None, typer.Option(help="Write every particle as a row of this CSV file.", metavar="FILE")
    ] = None,
    outlines: Annotated[
        Path | None,
        typer.Option(
            help="Write each field with its outlines as an SVG file into this folder.", metavar="FOLDER"
        ),
    ] = None,
    by_field: Annotated[
        bool, typer.Option("--fields", help="Say what each field gave, a line each.")
    ] = False,
    cores: Cores = None,
) -> None:
    """Measure the particles of a study's micrographs: sizes, counts, coverage and evenness.

    Positions in the file of particles are in pixels from the image's upper left corner, as adjustments
    use them.

    Example:

        halfcell micrographs my-study

        halfcell micrographs my-study --fields

        halfcell micrographs my-study --particles particles.csv --outlines fields
    """
    analysis = analyzed(folder, cores)
    fields = analysis.shown("Made", "micrograph")
    if not fields:
        plain("The study has no micrograph that could be measured.")
    else:
        _show(analysis)
    if by_field:
        _show_fields(fields)
    if particles is not None:
        count = _write_particles(analysis, particles)
        plain(f"{count} particles written to {particles}")
    if outlines is not None:
        _write_outlines(analysis, outlines)
        plain(f"{len(fields)} fields written to {outlines}")
    tell_problems(
        tuple(
            p
            for p in analysis.problems
            if p.file in {r for e in fields for r in e.recordings} or "adjustments" in p.place
        )
    )


def _show(analysis: Analysis) -> None:
    from rich import box
    from rich.table import Table

    from halfcell.report.parts.made import part
    from halfcell.report.tables import by_electrode

    shown = by_electrode("", analysis.findings, _COLUMNS, keep=lambda f: not f.condition)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for i, head in enumerate(shown.head):
        table.add_column(head, overflow="fold", justify="left" if i < 2 else "right")
    for row in shown.rows:
        table.add_row(*row)
    console().print(table)
    for section in part(analysis).sections[:1]:
        for block in section.blocks:
            plain(str(getattr(block, "text", "")))
            plain()


def _show_fields(fields: Iterable[Exhibit]) -> None:
    from halfcell.report.parts.made import field_sentence

    for field in fields:
        plain(field_sentence(field))
    plain()


def _write_particles(analysis: Analysis, path: Path) -> int:
    import csv

    names = ("x", "y", "diameter", "contrast", "elongation", "confidence", "cut", "group")
    count = 0
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(["file", "electrode", "x / px", "y / px", "diameter / px", "diameter / nm", "contrast", "elongation", "confidence", "cut by frame", "contact group"])  # fmt: skip
        for field in analysis.shown("Made", "micrograph"):
            scale = field.data["nm_per_pixel"]
            for values in zip(*(field.data[name] for name in names), strict=True):
                x, y, d, *rest = (float(v) for v in values)
                writer.writerow([field.recordings[0], field.electrode, f"{x:.3f}", f"{y:.3f}", f"{d:.3f}", f"{d * scale:.3f}", *(f"{v:.4g}" for v in rest)])  # fmt: skip
                count += 1
    return count


def _write_outlines(analysis: Analysis, folder: Path) -> None:
    from halfcell.report.drawn import study_colours
    from halfcell.report.figures.svg import figure_svg

    folder.mkdir(parents=True, exist_ok=True)
    colours = study_colours(analysis)
    for field in analysis.shown("Made", "micrograph"):
        name = field.recordings[0].replace("/", "_").rsplit(".", 1)[0]
        (folder / f"{name}.svg").write_text(figure_svg(field, colours), "utf-8")
