"""The second waist: one named figure of merit, and the table of all of them."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from halfcell.results import Measured

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = (
    "name",
    "value",
    "standard_uncertainty",
    "unit",
    "degrees_of_freedom",
    "electrode",
    "group",
    "recordings",
    "method",
    "source",
    "settings",
    "notes",
    "condition",
    "text",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One named figure of merit, with where it came from.

    ``value`` and ``standard_uncertainty`` are in ``unit``. A finding that is a word (a response
    class, a verdict) has it in ``text``; its value is then the probability of the word, or nan.
    ``electrode`` is empty for a finding about a group, ``group`` too for one about the study.
    ``condition`` tells apart findings of one name on one electrode ("1 mmol/L, 50 mV/s").
    ``recordings`` are file paths relative to the study folder.
    """

    name: str
    value: float
    standard_uncertainty: float = math.nan
    degrees_of_freedom: float = math.inf
    unit: str = "1"
    electrode: str = ""
    group: str = ""
    condition: str = ""
    text: str = ""
    recordings: tuple[str, ...] = ()
    method: str
    source: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """The address of this finding in the study: name, whom it is about, condition."""
        whom = self.electrode or self.group
        return " | ".join(part for part in (self.name, whom, self.condition) if part)

    def measured(self) -> Measured:
        """Value, uncertainty and degrees of freedom, in the finding's unit."""
        return Measured(
            value=self.value,
            u=self.standard_uncertainty,
            df=self.degrees_of_freedom,
            why=self.notes[0] if self.notes else "",
        )

    def as_json(self) -> dict[str, Any]:
        """A dictionary of JSON types; nan and infinity become None."""
        return {name: _plain(getattr(self, name)) for name in COLUMNS}


_FORMULA = re.compile(r"[=@\t\r]|[-+](?![\d.,]+(?:[eE][-+]?\d+)?(?:\s[^=|!(]*)?\Z)")


def _no_formula(value: Any) -> Any:
    """Text that begins like a formula made plain text; numbers and quantities stay."""
    return f"'{value}" if isinstance(value, str) and _FORMULA.match(value) else value


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(v) for v in value]
    if hasattr(value, "item"):
        return _plain(value.item())
    return value


@dataclass(frozen=True, slots=True)
class Findings:
    """All findings of a study: one tidy table, in a fixed order.

    ``attributes`` maps each electrode to what is known of how it was made (material, recipe,
    batch, area, factors …), so that a comparison can group by any of it.
    """

    rows: tuple[Finding, ...]
    attributes: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def __iter__(self) -> Iterator[Finding]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def named(self, name: str, **where: str) -> tuple[Finding, ...]:
        """The findings of a name, further chosen by exact fields (electrode="Ni-1")."""
        return tuple(
            f for f in self.rows if f.name == name and all(getattr(f, k) == v for k, v in where.items())
        )

    def names(self) -> tuple[str, ...]:
        """The names that occur, in order of first occurrence."""
        return tuple(dict.fromkeys(f.name for f in self.rows))

    def plus(self, more: Iterable[Finding]) -> Findings:
        """A new table with further rows."""
        return Findings(self.rows + tuple(more), self.attributes)

    def frame(self) -> pd.DataFrame:
        """A pandas table with the columns of ``COLUMNS``; never changes shape."""
        import pandas as pd

        return pd.DataFrame([{c: getattr(f, c) for c in COLUMNS} for f in self.rows], columns=list(COLUMNS))

    def json(self) -> str:
        """The machine format: one object with ``format`` and ``findings``."""
        return json.dumps({"format": 1, "findings": [f.as_json() for f in self.rows]}, ensure_ascii=False)

    def csv(self) -> str:
        """Comma-separated text with a header row; lists are joined by "; ".

        Text that a spreadsheet would take for a formula has an apostrophe before it.
        """
        frame = self.frame()
        frame["recordings"] = ["; ".join(f.recordings) for f in self.rows]
        frame["notes"] = ["; ".join(f.notes) for f in self.rows]
        frame["settings"] = [json.dumps(_plain(f.settings), ensure_ascii=False) for f in self.rows]
        return str(frame.map(_no_formula).to_csv(index=False))
