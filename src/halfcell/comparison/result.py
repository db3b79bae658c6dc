"""What a comparison of groups hands on."""

from __future__ import annotations

from dataclasses import dataclass

from halfcell.comparison.samples import Group
from halfcell.results import Interval, Measured
from halfcell.statistics.normality import Normality
from halfcell.statistics.spread import SpreadTest
from halfcell.statistics.welch import WelchAnova


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """The difference that would not matter: in the finding's unit, or a share of the pair's mean."""

    value: float
    relative: bool = False

    def of(self, first: float, second: float) -> float:
        """The margin for two means, in the finding's unit."""
        return self.value * abs(first + second) / 2 if self.relative else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupResult:
    """One group: its mean with uncertainty and interval; ``letters`` shared with groups not shown to differ."""

    name: str
    n: int
    mean: Measured
    s: float
    interval: Interval
    letters: str
    group: Group


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedNeed:
    """Independent values a group that a pair needs where each is the mean of several, by simulation.

    ``needed`` with ``inside`` values in each as now, ``needed_twice`` with twice as many, None where
    above 200. ``between`` and ``below`` are the standard deviations of the two levels.
    """

    needed: int | None
    inside: int
    needed_twice: int | None
    between: float
    below: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairResult:
    """Two groups: difference and ratio with simultaneous intervals, and what is claimed.

    ``visible`` is the smallest true difference this data would have shown with a chance of 80 %;
    ``needed`` the electrodes a group to show ``sought`` (the margin, else the difference seen) with
    that chance, None where more than 1000; ``nested`` the same by simulation where it was done. ``same`` is True only where equivalence within ``margin``
    was shown; None where no margin was stated.
    """

    first: str
    second: str
    difference: Measured
    interval: Interval
    p: float
    different: bool
    ratio: Measured
    ratio_interval: Interval
    visible: float
    sought: float
    needed: int | None
    margin: float | None = None
    same: bool | None = None
    p_same: float | None = None
    nested: NestedNeed | None = None

    @property
    def name(self) -> str:
        """As it is written: "Cu − Ni"."""
        return f"{self.first} − {self.second}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """Another method on the same values: which pairs it adds to or takes from the default's claims.

    ``p`` is its test over all groups, None where it has none. ``able`` is False where it could not
    have shown a difference with so few electrodes; ``note`` says why.
    """

    method: str
    p: float | None = None
    adds: tuple[str, ...] = ()
    takes: tuple[str, ...] = ()
    able: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A finding compared between groups of electrodes.

    ``test`` is the method used and ``reason`` why; ``depends`` says whether another method that was
    able to decide would have claimed something else. ``apart`` holds groups that are shown and not
    tested (bare substrate, controls, bulk metal, single electrodes). Values are in ``unit``.
    """

    finding: str
    condition: str
    unit: str
    by: str
    level: float
    groups: tuple[GroupResult, ...]
    pairs: tuple[PairResult, ...]
    test: str
    reason: str
    independent: str = "electrodes"
    """What the independent values are: electrodes, or batches."""
    reference: str = ""
    overall: WelchAnova | None = None
    alternatives: tuple[Alternative, ...] = ()
    depends: bool = False
    spread: SpreadTest | None = None
    normality: Normality | None = None
    apart: tuple[GroupResult, ...] = ()
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def group(self, name: str) -> GroupResult:
        """The group of a name."""
        return next(g for g in self.groups if g.name == name)

    def pair(self, a: str, b: str) -> PairResult | None:
        """The pair of two groups, whichever stands first; None where it was not tested."""
        return next((p for p in self.pairs if {p.first, p.second} == {a, b}), None)
