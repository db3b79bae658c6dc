"""Every paragraph, caption, title and note of a report begins with a capital, whatever name it begins with."""

from __future__ import annotations

from dataclasses import replace

from halfcell.choice.wording import opened
from halfcell.report.blocks import Block, Part, Picture, Section, Table, Text

__all__ = ["with_openings"]


def with_openings(part: Part) -> Part:
    """The part with all its sentences opened; cells of tables and lines of code stay as they are."""
    return replace(part, sections=tuple(_section(s) for s in part.sections))


def _section(section: Section) -> Section:
    return replace(section, title=opened(section.title), blocks=tuple(_block(b) for b in section.blocks))


def _block(block: Block) -> Block:
    if isinstance(block, Text):
        return block if block.tone == "code" else replace(block, text=opened(block.text))
    if isinstance(block, Table):
        return replace(block, title=opened(block.title), note=opened(block.note))
    return _picture(block)


def _picture(picture: Picture) -> Picture:
    return replace(picture, caption=opened(picture.caption), alt=opened(picture.alt))
