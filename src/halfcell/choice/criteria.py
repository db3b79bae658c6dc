"""What the electrode must do, and what is wanted of it: plain values in the findings' units."""

from __future__ import annotations

from dataclasses import dataclass, replace

from halfcell.errors import MethodError
from halfcell.units import pretty
from halfcell.vocabulary import TERMS


def label_of(finding: str, condition: str = "") -> str:
    """A finding as people say it: "limit of detection", "false concentration (oxygen)"."""
    term = TERMS.get(finding)
    label = term.label if term is not None else finding.replace("_", " ")
    label = label[0].lower() + label[1:] if label[1:2].islower() else label
    return f"{label} ({condition})" if condition else label


def with_unit(value: float, unit: str) -> str:
    """A limit as it is written: "20 µM"."""
    return f"{value:g} {pretty(unit)}".rstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Must:
    """A requirement. Limits are in ``unit``, the unit of the finding; ``equals`` is for words.

    ``condition`` None: every condition of the finding that electrodes share must meet it.
    """

    finding: str
    unit: str = "1"
    at_most: float | None = None
    at_least: float | None = None
    equals: str | None = None
    condition: str | None = None
    because: str = ""

    def __post_init__(self) -> None:
        if (self.at_most is None and self.at_least is None) == (self.equals is None):
            raise MethodError(
                f"The must about {self.finding!r} needs a limit (at_most, at_least or both) or a word (equals), and not both."
            )
        if self.at_most is not None and self.at_least is not None and self.at_least >= self.at_most:
            raise MethodError(
                f"The must about {self.finding!r} asks for at least {self.at_least:g} and at most {self.at_most:g}."
            )

    @property
    def label(self) -> str:
        """As it is written: "limit of detection at most 5 µM"."""
        what = label_of(self.finding, self.condition or "")
        if self.equals is not None:
            return f"{what} is “{self.equals}”"
        parts = []
        if self.at_least is not None:
            parts.append(f"at least {with_unit(self.at_least, self.unit)}")
        if self.at_most is not None:
            parts.append(f"at most {with_unit(self.at_most, self.unit)}")
        return f"{what} {' and '.join(parts)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """A wish: desirability 0 at one end of ``low`` … ``high`` and 1 at the other (or at ``target``)."""

    finding: str
    aim: str
    low: float
    high: float
    unit: str = "1"
    target: float | None = None
    weight: float = 1.0
    shape: float = 1.0
    condition: str | None = None

    def __post_init__(self) -> None:
        if self.aim not in {"maximise", "minimise", "target"}:
            raise MethodError(
                f"The aim of {self.finding!r} is {self.aim!r}; it is maximise, minimise or target."
            )
        if not self.low < self.high:
            raise MethodError(
                f"The range of {self.finding!r} begins at {self.low:g} and ends at {self.high:g}; low is below high."
            )
        if self.aim == "target" and not (self.target is not None and self.low <= self.target <= self.high):
            raise MethodError(
                f"The target of {self.finding!r} is {self.target}; it lies between {self.low:g} and {self.high:g}."
            )
        if not (self.weight >= 0 and self.shape > 0):
            raise MethodError(
                f"The weight of {self.finding!r} is {self.weight:g} and its shape {self.shape:g}; neither is negative."
            )

    @property
    def label(self) -> str:
        """As it is written: "sensitivity"."""
        return label_of(self.finding, self.condition or "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Criteria:
    """All that is asked of the electrode."""

    musts: tuple[Must, ...] = ()
    wants: tuple[Want, ...] = ()

    def weighted(self, weights: dict[str, float]) -> Criteria:
        """The same with other weights, by the finding's name (or its label, where there are several).

        Raises MethodError for a name that no want has.
        """
        known = {w.finding for w in self.wants} | {w.label for w in self.wants}
        for name in weights:
            if name not in known:
                raise MethodError(
                    f"No want is about {name!r}; the wants are about {', '.join(w.finding for w in self.wants)}."
                )
        changed = tuple(
            replace(w, weight=weights.get(w.label, weights.get(w.finding, w.weight))) for w in self.wants
        )
        return replace(self, wants=changed)
