"""The demo study analysed, held to what is true of it: every number within its stated uncertainty."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import pytest

from halfcell.cache import Cache
from halfcell.demo import Truth, write
from halfcell.demo.agreement import Agreement, agreements
from halfcell.pipeline import Analysis, analyze

CANDIDATES = {"copper", "nickel"}


@dataclass(frozen=True)
class Case:
    analysis: Analysis
    truth: Truth
    rows: tuple[Agreement, ...]

    def of(self, name: str) -> list[Agreement]:
        return [r for r in self.rows if r.name == name]


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    base = tmp_path_factory.mktemp("truth")
    truth = write(base / "study", small=True)
    analysis = analyze(base / "study", cache=Cache(None), cores=1)
    return Case(analysis, truth, agreements(analysis.findings, truth))


def _made(case: Case, *names: str) -> set[str]:
    return {name for name, e in case.truth.electrodes.items() if e.material in names}


def test_nothing_failed(case: Case) -> None:
    assert [str(p) for p in case.analysis.problems if p.severity == "error"] == []


@pytest.mark.parametrize(
    "name",
    ["double_layer_capacitance", "peak_current", "peak_potential", "sensitivity", "sensitivity_per_area", "limit_of_detection",
     "false_concentration", "response_time", "particle_diameter", "size_spread", "particle_density", "coverage"],
)  # fmt: skip
def test_every_candidate_has_the_number(case: Case, name: str) -> None:
    found = {r.electrode for r in case.of(name) if np.isfinite(r.found) and np.isfinite(r.z)}
    assert _made(case, *CANDIDATES) <= found


def test_every_number_agrees_with_the_truth(case: Case) -> None:
    far = [(r.name, r.electrode, r.condition, r.found, r.u, r.truth) for r in case.rows if abs(r.z) > 3.3]
    assert len(far) <= 1, far
    assert not [r for r in case.rows if abs(r.z) > 5]


def test_uncertainties_are_neither_too_small_nor_absurdly_large(case: Case) -> None:
    groups: dict[str, list[float]] = defaultdict(list)
    for row in case.rows:
        if np.isfinite(row.z):
            groups[row.name].append(row.z)
    squares = {name: float(np.mean(np.square(z))) for name, z in groups.items()}
    # The 99.9 % point of chi-squared over its degrees of freedom, for so few numbers a name.
    from scipy import stats

    too_small = {
        n: s for n, s in squares.items() if s > stats.chi2.isf(1e-3, len(groups[n])) / len(groups[n])
    }
    assert not too_small
    for row in case.rows:
        if (
            row.name in {"sensitivity", "peak_current", "double_layer_capacitance", "particle_diameter"}
            and case.truth.electrodes[row.electrode].material in CANDIDATES
        ):
            assert row.u < 0.1 * abs(row.truth), row


def test_response_classes_are_right(case: Case) -> None:
    for name, known in case.truth.electrodes.items():
        words = {f.text for f in case.analysis.findings.named("response_class", electrode=name)}
        assert words == {known.response_class}, name


def test_sizes_are_close_whatever_their_uncertainty(case: Case) -> None:
    for row in case.of("particle_diameter"):
        assert row.found == pytest.approx(row.truth, rel=0.05)
    for row in case.of("particle_density"):
        assert row.found == pytest.approx(row.truth, rel=0.12)


def test_the_choice_is_right(case: Case) -> None:
    choice = case.analysis.choice
    assert choice is not None
    assert set(choice.failed) == set(case.truth.eliminated)
    for name, why in case.truth.eliminated.items():
        assert any(r.must.condition == why for r in choice.reasons(name))
    assert choice.leader == case.truth.winner
    assert choice.ranked[0].best > 0.95


def test_even_particles_are_found_even(case: Case) -> None:
    for name in _made(case, "nickel"):
        assert {f.text for f in case.analysis.findings.named("evenness", electrode=name)} == {"even"}
