"""What a part of the report is made of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Exhibit


FIGURES = 120
"""Figures drawn in a report unless another number is asked for: enough for a page of some megabytes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A paragraph; ``tone`` is "" or "caution", "verdict", "note"."""

    text: str
    tone: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table with its title; cells are texts (numbers already with uncertainty and unit)."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    folded: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A figure drawn from an exhibit, with its caption; ``alt`` is read out to who cannot see it."""

    exhibit: Exhibit
    caption: str
    alt: str = ""
    folded: bool = False


Block = Text | Table | Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Blocks under a heading; ``folded`` sections open on demand."""

    title: str
    blocks: tuple[Block, ...]
    folded: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One question of the report: its place, the question in words, and its sections."""

    place: str
    question: str
    sections: tuple[Section, ...] = field(default_factory=tuple)
