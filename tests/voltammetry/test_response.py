from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.truth import diffusing, programme, spoiled
from halfcell.voltammetry.response import classify_response

P = programme((-0.4, 0.5), 0.05)


def _record(word: str, snr: float, rng: np.random.Generator) -> np.ndarray:
    formal = rng.uniform(-0.2, 0.2)
    if word == "none":
        clean = np.zeros(P.time.size)
    elif word == "wave":
        clean = diffusing(P.time, P.potential, formal=formal, amount=1.0, scale=20.0)
    else:
        k = rng.choice([np.inf, 1.0, 0.1])
        clean = diffusing(P.time, P.potential, formal=formal - 0.1, amount=1.0, rate_constant=k)
    top = clean.max() or 1.0
    return spoiled(
        clean / top,
        noise=1 / snr,
        rho=rng.choice([0.0, 0.5, 0.8]),
        drift=0.3 * rng.standard_normal(),
        rng=rng,
    )


@pytest.mark.parametrize("word", ["none", "wave", "peak"])
def test_error_rate_at_signal_to_noise_five(word: str) -> None:
    # 60 records of a class; with a true error rate of 5 % more than 8 errors have a probability below 0.3 %.
    rng = np.random.default_rng(7)
    wrong = sum(classify_response(P.potential, _record(word, 5.0, rng)).word != word for _ in range(60))
    assert wrong <= 8


def test_probabilities_add_up_and_the_definition_has_an_interval() -> None:
    found = classify_response(P.potential, _record("peak", 50.0, np.random.default_rng(1)))
    assert found.none + found.wave + found.peak == pytest.approx(1.0)
    assert found.definition_low < found.definition.value < found.definition_high
    assert found.decided


def test_a_reduction_is_found_on_the_falling_branch() -> None:
    p = programme((0.4, -0.5), 0.05)
    i = diffusing(p.time, p.potential, formal=0.0, amount=1.0, oxidation=False)
    i = spoiled(i, noise=0.01, rng=np.random.default_rng(0))
    found = classify_response(p.potential, i, sign=-1)
    assert found.word == "peak"
    assert found.at == pytest.approx(-0.0285, abs=0.01)


def test_what_is_left_of_the_blank_is_no_response() -> None:
    rng = np.random.default_rng(3)
    blank = 1 + 0.4 * P.potential + 4 * np.exp((P.potential - 0.5) / 0.04)
    wrong = 0
    for _ in range(30):
        y = spoiled(0.04 * rng.standard_normal() * blank, noise=0.02, rho=0.3, rng=rng)
        wrong += classify_response(P.potential, y, blank=blank).word != "none"
    assert wrong <= 4


def test_a_current_still_rising_at_the_end_is_a_wave_without_end() -> None:
    y = spoiled(np.exp((P.potential - 0.5) / 0.06), noise=0.01, rng=np.random.default_rng(5))
    found = classify_response(P.potential, y)
    assert found.word == "wave"
    assert not found.complete


def test_too_short_a_branch_is_refused() -> None:
    with pytest.raises(MethodError, match=r"0\.31 V"):
        classify_response(np.linspace(0, 0.2, 200), np.zeros(200))


@pytest.mark.parametrize("kind", ["zeros", "constant", "line", "exponential", "spikes"])
def test_curves_that_are_no_records_are_judged_without_failing(kind: str) -> None:
    e = P.potential
    y = {
        "zeros": np.zeros(e.size),
        "constant": np.full(e.size, 1e-6),
        "line": 1e-6 * e,
        "exponential": np.exp(30 * e),
        "spikes": np.where(np.arange(e.size) % 97 == 0, 1.0, 0.0),
    }[kind]
    for blank in (None, np.zeros(e.size), 1e-6 * e):
        found = classify_response(e, y, blank=blank)
        assert found.none + found.wave + found.peak == pytest.approx(1.0)
        if kind in {"zeros", "constant", "line"}:
            assert found.word == "none"


@pytest.mark.parametrize("snr", [10.0, 50.0])
def test_the_definition_ratio_lies_in_its_interval(snr: float) -> None:
    rng = np.random.default_rng(9)
    inside = 0
    for k in range(40):
        at = rng.uniform(-0.15, 0.1)
        slow = {"formal": at - 0.25, "rate_constant": 0.03} if k % 2 else {"formal": at}
        clean = diffusing(P.time, P.potential, amount=1.0, **slow)
        clean = clean / clean.max()
        y = spoiled(clean, noise=1 / snr, rho=0.3, drift=0.3 * rng.standard_normal(), rng=rng)
        found = classify_response(P.potential, y)
        top = int(np.argmax(clean))
        after = (P.potential >= P.potential[top]) & (P.potential <= P.potential[top] + found.span)
        inside += found.definition_low <= 1 - clean[after].min() <= found.definition_high
    assert inside >= 33  # binomial(40, 0.95): fewer than 33 has probability 0.2 %
