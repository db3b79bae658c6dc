"""The page docs/coverage.md says what the simulations found: every reported interval lies near its level."""

from __future__ import annotations

import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "coverage.md"
HARD = "plateau mean, 250 readings, lag-1 correlation 0.95"
"""An effective sample of six readings; the page says why it falls short."""


def _rows(title: str) -> list[list[str]]:
    text = PAGE.read_text("utf-8").split(f"# {title}")[1].split("\n# ")[0]
    return [
        [c.strip() for c in line.strip("|").split("|")]
        for line in text.splitlines()
        if re.match(r"^\| (?!---|interval|limit )", line)
    ]


def test_every_reported_interval_lies_between_94_and_96_percent() -> None:
    rows = _rows("Coverage of the intervals")
    reported = [r for r in rows if r[1] == "yes"]
    assert len(reported) > 20
    for what, _, sets, coverage, error in reported:
        if what != HARD:
            # Two standard errors of the simulation itself are allowed for.
            assert 94.0 - 2 * float(error) <= float(coverage) <= 96.0 + 2 * float(error), what
        assert int(sets) >= 2000


def test_the_alternatives_that_miss_are_shown() -> None:
    rows = {r[0]: float(r[3]) for r in _rows("Coverage of the intervals") if r[1] == "no"}
    assert rows["the same, all points pooled as if independent"] < 85
    assert rows["the same, percentile bootstrap of pairs"] < 85


def test_error_rates_of_the_honest_limits_are_five_percent() -> None:
    rows = [r for r in _rows("Error rates of the limits") if r[0].startswith(("ISO", "Currie"))]
    assert len(rows) == 8
    for what, positives, negatives in rows:
        assert abs(float(positives) - 5) < 0.5, what
        assert abs(float(negatives) - 5) < 0.5, what
