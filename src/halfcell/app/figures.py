"""Figures for the screen and for paper, drawn as the report draws them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.pipeline import Analysis, Exhibit

FORMS = {"svg": ("image/svg+xml", ".svg"), "pdf": ("application/pdf", ".pdf"), "png": ("image/png", ".png")}


def drawn(
    analysis: Analysis, exhibit: Exhibit, form: str = "svg", width: float = 160.0, dpi: int = 300
) -> bytes:
    """An exhibit as a file's bytes; ``width`` in mm and ``dpi`` count for PDF and PNG.

    The same drawing as in the report; PDF and PNG keep its proportions. Raises MethodError where
    the drawing fails.
    """
    from halfcell.cache import key_of, user_cache
    from halfcell.report.drawn import draw_one, drawing_fingerprint, study_colours
    from halfcell.report.figures.files import figure_file

    colours = study_colours(analysis)
    if form == "svg":
        cache, key = user_cache(), key_of("screen figure", exhibit, colours, drawing_fingerprint())
        text = cache.get(key)
        if not isinstance(text, str):
            text = draw_one(exhibit=exhibit, colours=colours, alt=exhibit.title, code="")
            cache.put(key, text)
        return _standalone(text).encode()
    kind: Any = form
    return figure_file(exhibit, colours, format=kind, width=width * 1e-3, dpi=dpi)


def _standalone(svg: str) -> str:
    """An inline ``<svg>`` as a file: with its namespaces."""
    head, rest = svg.split(">", 1)
    for name, space in (
        ("xmlns", "http://www.w3.org/2000/svg"),
        ("xmlns:xlink", "http://www.w3.org/1999/xlink"),
    ):
        if f"{name}=" not in head:
            head += f' {name}="{space}"'
    return f"{head}>{rest}"
