"""A figure as a file for a manuscript: SVG, PDF or PNG at a stated width."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal, get_args

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Exhibit

__all__ = ["Format", "figure_file"]

Format = Literal["svg", "pdf", "png"]
_INCH = 0.0254


def figure_file(
    exhibit: Exhibit,
    colours: Mapping[str, str],
    *,
    format: Format = "svg",  # noqa: A002 - the word people use
    width: float | None = None,
    dpi: float = 300.0,
) -> bytes:
    """An exhibit's figure as the bytes of a file.

    ``width`` in m (0.085 for one column of most journals) changes the size of the figure, not that of its
    letters; None keeps it as drawn. ``dpi`` counts for PNG and for photographs. Raises KeyError for a kind
    without a drawing and ValueError for another format or a width outside 20 mm … 1 m.
    """
    import matplotlib as mpl

    from halfcell.report.figures import DRAWINGS
    from halfcell.report.figures.svg import ONE_AT_A_TIME, SETTINGS

    check_form(format, width)
    draw = DRAWINGS[exhibit.kind]
    with ONE_AT_A_TIME, mpl.rc_context(SETTINGS | {"pdf.fonttype": 42}):
        figure = draw(exhibit, colours)
        if width is not None:
            before, height = figure.get_size_inches()
            figure.set_size_inches(width / _INCH, height * width / _INCH / before)
        out = io.BytesIO()
        clock = {"svg": {"Date": None}, "pdf": {"CreationDate": None}, "png": {}}[format]
        figure.savefig(out, format=format, dpi=dpi, facecolor="white", metadata=clock)
    return out.getvalue()


def check_form(format: str, width: float | None) -> None:  # noqa: A002 - the word people use
    """Raises ValueError for a format or a width that a figure cannot have."""
    if format not in get_args(Format):
        raise ValueError(f"A figure is saved as one of {', '.join(get_args(Format))}, not {format!r}.")
    if width is not None and not 0.02 <= width <= 1.0:
        raise ValueError(f"A figure is 20 mm to 1 m wide, not {width * 1e3:.3g} mm.")
