"""The report as one HTML file that needs nothing else: no network, no script, no font to fetch."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

from halfcell._version import __version__
from halfcell.report.blocks import FIGURES, Picture, Table, Text
from halfcell.report.cells import aligned, capital
from halfcell.report.content import content
from halfcell.report.drawn import Drawn, draw_all

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jinja2 import Environment

    from halfcell.cache import Cache
    from halfcell.errors import Problem
    from halfcell.pipeline.outcome import Analysis
    from halfcell.report.blocks import Block
    from halfcell.report.content import Content

__all__ = ["Page", "html_report"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """The page, what it says and shows, and what of it could not be written or drawn."""

    html: str
    said: Content
    drawn: Drawn

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Parts that could not be written and figures that could not be drawn."""
        return self.said.problems + self.drawn.problems


def html_report(
    analysis: Analysis,
    *,
    parts: Sequence[str] | None = None,
    figures: int = FIGURES,
    cores: int | None = None,
    cache: Cache | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Page:
    """The whole report, or some parts of it, with at most so many figures.

    Raises ValueError for a part that does not exist.
    """
    said = content(analysis, parts)
    drawn = draw_all(analysis, said.parts, limit=figures, cores=cores, cache=cache, progress=progress)
    return Page(html=render(analysis, said, drawn), said=said, drawn=drawn)


def render(analysis: Analysis, said: Content, drawn: Drawn) -> str:
    """The page from what it says and its figures."""
    page = _templates().get_template("page.html")
    text = page.render(
        said=said,
        drawn=drawn,
        version=__version__,
        problems=len(analysis.problems) + len(said.problems) + len(drawn.problems),
    )
    return re.sub(r"\n\s*\n+", "\n", text)


@functools.cache
def _templates() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    templates = Environment(
        loader=PackageLoader("halfcell.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.filters["anchor"] = anchor
    templates.filters["aligned"] = aligned
    templates.filters["runs"] = runs
    templates.filters["capital"] = capital
    templates.filters["paragraphs"] = lambda text: [p.strip() for p in text.split("\n\n") if p.strip()]
    templates.tests["text"] = lambda block: isinstance(block, Text)
    templates.tests["table"] = lambda block: isinstance(block, Table)
    templates.tests["picture"] = lambda block: isinstance(block, Picture)
    return templates


def runs(blocks: Sequence[Block]) -> list[Block | tuple[Picture, ...]]:
    """The blocks, with three or more folded pictures of a kind in a row as one group."""
    grouped: list[Block | tuple[Picture, ...]] = []
    for kind, together in groupby(
        blocks, key=lambda b: isinstance(b, Picture) and b.folded and b.exhibit.kind
    ):
        some = list(together)
        if kind and len(some) >= 3:
            grouped.append(tuple(b for b in some if isinstance(b, Picture)))
        else:
            grouped.extend(some)
    return grouped


def anchor(*words: Any) -> str:
    """A heading as the name of a place in the page."""
    return re.sub(r"[^a-z0-9]+", "-", " ".join(str(w) for w in words).lower()).strip("-") or "part"
