"""One method, as the report and ``halfcell why`` tell it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """A method's name, formula, published source, and a sentence for the methods text.

    ``source`` is a citation, or "common practice, no source"; one that was not seen says
    "(from memory)". ``sentence`` is complete English, past tense, without numbers of a study.
    """

    name: str
    formula: str
    source: str
    sentence: str
