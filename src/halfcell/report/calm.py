"""A section with many figures shows a few and folds the rest."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from halfcell.report.blocks import Block, Part, Picture, Section

__all__ = ["calm"]

OPEN = 4
"""Figures of a kind in a row that stay open (common practice, no source)."""


def calm(part: Part) -> Part:
    """The part with at most ``OPEN`` figures of a kind in a row open, the first of each group before others.

    The folded ones follow the open ones, kind by kind. Nothing else changes.
    """
    return replace(part, sections=tuple(_section(s) for s in part.sections))


def _section(section: Section) -> Section:
    blocks: list[Block] = []
    for is_picture, together in groupby(section.blocks, key=lambda b: isinstance(b, Picture)):
        if is_picture:
            blocks += _row([b for b in together if isinstance(b, Picture)])
        else:
            blocks += together
    return replace(section, blocks=tuple(blocks))


def _row(pictures: list[Picture]) -> list[Picture]:
    shown: list[Picture] = []
    for kind in dict.fromkeys(p.exhibit.kind for p in pictures):
        shown += _chosen([p for p in pictures if p.exhibit.kind == kind and not p.folded])
    kept = {id(p) for p in shown}
    rest = [replace(p, folded=True) for p in pictures if id(p) not in kept]
    order = {kind: i for i, kind in enumerate(dict.fromkeys(p.exhibit.kind for p in pictures))}
    return shown + sorted(rest, key=lambda p: order[p.exhibit.kind])


def _chosen(pictures: list[Picture]) -> list[Picture]:
    """The open figures of a kind that stay open: all of few, else the first of each group."""
    if len(pictures) <= OPEN:
        return pictures
    firsts = {p.exhibit.group: p for p in reversed(pictures)}
    return [p for p in pictures if firsts[p.exhibit.group] is p][:OPEN]
