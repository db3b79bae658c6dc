"""One name a finding may have."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A finding's name with its unit and meaning.

    ``si`` is the unit methods compute in, ``unit`` the one it is reported in; both are texts the
    units module can convert between. ``label`` is what a figure's axis or a table's head says.
    ``better`` is "higher", "lower" or "" where that is a matter of the job. ``place`` is the
    question it answers: Made, Responds, Quantifies, Confounds or Chooses.
    """

    name: str
    label: str
    meaning: str
    unit: str = "1"
    si: str = "1"
    place: str
    better: str = ""
    word: bool = False
    """True where the finding is a word (a class, a verdict) with its probability."""
    words: tuple[str, ...] = ()
    """The words it may be, where they are a closed set."""
