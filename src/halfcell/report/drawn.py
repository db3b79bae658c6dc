"""All figures of a report: drawn on the local cores, kept by content, within a limit."""

from __future__ import annotations

import functools
import hashlib
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError, Problem
from halfcell.report.blocks import Part, Picture

if TYPE_CHECKING:
    from halfcell.cache import Cache
    from halfcell.pipeline.outcome import Analysis, Exhibit

__all__ = ["Drawn", "draw_all", "pictures"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """The SVG of each exhibit's key; keys beyond the limit are in ``left``, failures in ``problems``."""

    svg: Mapping[str, str] = field(default_factory=dict)
    left: frozenset[str] = frozenset()
    problems: tuple[Problem, ...] = ()
    wanted: int = 0
    """How many figures there are in all."""


def pictures(parts: Sequence[Part]) -> list[Picture]:
    """All pictures in the order in which they are drawn while the limit lasts.

    Open ones come before folded ones; of each kind the first comes before the second of any, so
    that no kind takes the place of another.
    """
    ranked: list[tuple[bool, int, int, Picture]] = []
    seen: Counter[tuple[str, str, bool]] = Counter()
    for part in parts:
        for section in part.sections:
            for block in section.blocks:
                if isinstance(block, Picture):
                    folded = section.folded or block.folded
                    kind = (part.place, block.exhibit.kind, folded)
                    ranked.append((folded, seen[kind], len(ranked), block))
                    seen[kind] += 1
    return [block for *_, block in sorted(ranked, key=lambda r: r[:3])]


def draw_all(
    analysis: Analysis,
    parts: Sequence[Part],
    *,
    limit: int,
    cores: int | None = None,
    cache: Cache | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Drawn:
    """Draw the pictures of some parts; at most ``limit`` of them, the open ones first."""
    wanted = list({picture.exhibit.key: picture for picture in pictures(parts)}.values())
    chosen = wanted[:limit]
    results = _drawn_on_cores(analysis, chosen, cores, cache, progress)
    svg = {p.exhibit.key: r for p, r in zip(chosen, results, strict=True) if isinstance(r, str)}
    problems = tuple(r for r in results if isinstance(r, Problem))
    return Drawn(
        svg=svg, left=frozenset(p.exhibit.key for p in wanted[limit:]), problems=problems, wanted=len(wanted)
    )


def _drawn_on_cores(
    analysis: Analysis,
    chosen: list[Picture],
    cores: int | None,
    cache: Cache | None,
    progress: Callable[[str, int, int], None] | None,
) -> list[Any]:
    import os

    from halfcell.cache import user_cache
    from halfcell.pipeline.workers import Crew, Job

    crew = Crew(
        folder=analysis.study.folder,
        loader=_nothing_to_load,
        hashes={},
        cache=user_cache() if cache is None else cache,
        cores=cores or os.cpu_count() or 1,
        progress=progress,
    )
    shades = study_colours(analysis)
    jobs = [
        Job(
            inputs={
                "exhibit": p.exhibit,
                "colours": shades,
                "alt": p.alt or p.caption,
                "code": drawing_fingerprint(),
            },
            about=f"figure {p.exhibit.title}",
        )
        for p in chosen
    ]
    try:
        return crew.each(draw_one, jobs, what="Drawing figures")
    finally:
        crew.close()


def draw_one(*, exhibit: Exhibit, colours: dict[str, str], alt: str, code: str) -> str:
    """One figure as SVG, in a worker; raises MethodError where the drawing fails, whatever the reason."""
    from halfcell.report.figures.svg import figure_svg

    try:
        return figure_svg(exhibit, colours, alt=alt)
    except KeyError as error:
        raise MethodError(f"There is no drawing for {exhibit.kind!r}, or it lacks {error}.") from None
    except Exception as error:  # noqa: BLE001 - one figure that fails is a problem, not the end of the report
        raise MethodError(
            f"The figure {exhibit.title!r} could not be drawn ({type(error).__name__}: {error})."
        ) from None


def study_colours(analysis: Analysis) -> dict[str, str]:
    """The colour of each group, in the order of the study file."""
    from halfcell.report.figures.style import colours

    groups = [analysis.study.group(name) for name in analysis.study.file.electrodes]
    return colours([g for g in groups if g])


@functools.cache
def drawing_fingerprint() -> str:
    """A hash of the code that draws, so that a changed drawing is drawn again."""
    import matplotlib as mpl

    digest = hashlib.sha256(mpl.__version__.encode())
    for path in sorted((Path(__file__).parent / "figures").glob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def _nothing_to_load(folder: Path, path: str, **options: Any) -> Any:
    raise MethodError(f"A figure reads no files; {path} was asked for.")
