"""How numbers and lists are written in the explanation; each number is kept with its address."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from halfcell.choice.address import address
from halfcell.results import Interval, Measured
from halfcell.units import number, pretty, with_uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One sentence or two of the explanation: what is claimed, about whom, from which findings.

    ``kind`` is one of verdict, support, runner-up, no difference, difference, eliminated, undecided,
    unranked, weight, must, measure, limits. ``findings`` are the addresses of all numbers in the text.
    """

    kind: str
    text: str
    about: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()


@dataclass(slots=True)
class Writer:
    """Writes numbers and remembers where each comes from."""

    used: list[str] = field(default_factory=list)

    def claim(self, kind: str, text: str, *about: str) -> Claim:
        """A claim with the numbers written since the last one."""
        found, self.used = tuple(dict.fromkeys(self.used)), []
        return Claim(kind=kind, text=opened(text), about=about, findings=found)

    def value(self, measured: Measured, unit: str, name: str, group: str = "", condition: str = "") -> str:
        """ "12.3 ± 0.4 µA"."""
        self.used.append(address(name, group, condition))
        return with_uncertainty(measured.value, measured.u, unit)

    def interval(
        self,
        interval: Interval,
        unit: str,
        name: str,
        group: str = "",
        condition: str = "",
        u: float = math.nan,
    ) -> str:
        """ "10.1 to 12.4 µM"."""
        self.used.append(address(name, group, condition))
        if not (math.isfinite(interval.low) and math.isfinite(interval.high)):
            return "without bounds"
        step = u if math.isfinite(u) and u > 0 else (interval.high - interval.low) / 4
        return f"{number(interval.low, step)} to {number(interval.high, step)} {pretty(unit)}".rstrip()

    def plain(self, text: str, name: str, group: str = "", condition: str = "") -> str:
        """A number already written, with its address."""
        self.used.append(address(name, group, condition))
        return text


def chance(p: float) -> str:
    """A probability in words that claim no more than the draws can tell."""
    if p > 0.995:
        return "above 99 %"
    if p < 0.005:
        return "below 1 %"
    return f"{100 * p:.0f} %"


_PLAIN = re.compile(r"[a-z]{2,}(?=[ ,:;?!)]|\.(?: |$)|$)")
_SMALL = ("halfcell",)
"""Names that are written small wherever they stand."""


def opened(text: str) -> str:
    """``text`` with a capital first letter where its first word is a plain small one ("nickel", not "pH")."""
    first = _PLAIN.match(text)
    return text if first is None or first.group() in _SMALL else text[0].upper() + text[1:]


def listed(names: Sequence[str], last: str = "and") -> str:
    """ "Cu, Ni and Ru"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def counted(n: int, one: str, many: str = "") -> str:
    """ "3 candidates"."""
    return f"{n} {one if n == 1 else many or one + 's'}"
