from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.curve import fit_curve

MISRA_X = np.array(
    [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
)
MISRA_Y = np.array(
    [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
)


def _misra1a(x, p):
    return p[0] * (1 - np.exp(-p[1] * x))


def _misra1b(x, p):
    return p[0] * (1 - (1 + p[1] * x / 2) ** -2)


@pytest.mark.reference(
    "Exponential rise: Misra1a, both starts", "NIST StRD nonlinear regression, Misra1a", "seen"
)
@pytest.mark.parametrize("start", [(500, 1e-4), (250, 5e-4)])
def test_misra1a(start) -> None:
    fit = fit_curve(_misra1a, MISRA_X, MISRA_Y, start)
    assert fit.parameters == pytest.approx([2.3894212918e02, 5.5015643181e-04], rel=1e-7)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([2.7070075241, 7.2668688436e-06], rel=1e-5)
    assert fit.rss == pytest.approx(1.2455138894e-01, rel=1e-9)
    assert fit.residual_sd == pytest.approx(1.0187876330e-01, rel=1e-9)


@pytest.mark.reference("Saturating form: Misra1b", "NIST StRD nonlinear regression, Misra1b", "seen")
def test_misra1b() -> None:
    fit = fit_curve(_misra1b, MISRA_X, MISRA_Y, (300, 2e-4))
    assert fit.parameters == pytest.approx([3.3799746163e02, 3.9039091287e-04], rel=1e-7)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([3.1643950207, 4.2547321834e-06], rel=1e-5)
    assert fit.rss == pytest.approx(7.5464681533e-02, rel=1e-9)


@pytest.mark.reference("Power law: DanWood", "NIST StRD nonlinear regression, DanWood", "seen")
def test_danwood() -> None:
    x, y = [1.309, 1.471, 1.490, 1.565, 1.611, 1.680], [2.138, 3.421, 3.597, 4.340, 4.882, 5.660]
    fit = fit_curve(lambda x, p: p[0] * x ** p[1], x, y, (1, 5))
    assert fit.parameters == pytest.approx([7.6886226176e-01, 3.8604055871], rel=1e-8)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([1.8281973860e-02, 5.1726610913e-02], rel=1e-5)
    assert fit.rss == pytest.approx(4.3173084083e-03, rel=1e-9)


@pytest.mark.reference("Sigmoid: Rat42", "NIST StRD nonlinear regression, Rat42", "seen")
def test_rat42() -> None:
    x, y = [9, 14, 21, 28, 42, 57, 63, 70, 79], [8.93, 10.8, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08]
    fit = fit_curve(lambda x, p: p[0] / (1 + np.exp(p[1] - p[2] * x)), x, y, (100, 1, 0.1))
    assert fit.parameters == pytest.approx([7.2462237576e01, 2.6180768402, 6.7359200066e-02], rel=1e-7)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        [1.7340283401, 8.8295217536e-02, 3.4465663377e-03], rel=1e-5
    )
    assert fit.rss == pytest.approx(8.0565229338, rel=1e-9)


@pytest.mark.reference(
    "Rational function with a false minimum: MGH09, second start",
    "NIST StRD nonlinear regression, MGH09",
    "seen",
)
def test_mgh09() -> None:
    y = [
        1.957e-1,
        1.947e-1,
        1.735e-1,
        1.600e-1,
        8.44e-2,
        6.27e-2,
        4.56e-2,
        3.42e-2,
        3.23e-2,
        2.35e-2,
        2.46e-2,
    ]
    x = [4, 2, 1, 5e-1, 2.5e-1, 1.67e-1, 1.25e-1, 1e-1, 8.33e-2, 7.14e-2, 6.25e-2]
    fit = fit_curve(
        lambda x, p: p[0] * (x * x + p[1] * x) / (x * x + p[2] * x + p[3]), x, y, (0.25, 0.39, 0.415, 0.39)
    )
    assert fit.parameters == pytest.approx(
        [1.9280693458e-01, 1.9128232873e-01, 1.2305650693e-01, 1.3606233068e-01], rel=1e-5
    )
    assert fit.rss == pytest.approx(3.0750560385e-04, rel=1e-9)


@pytest.mark.reference(
    "Michaelis–Menten: Puromycin, treated",
    "Treloar 1974 in Bates & Watts, optimum by 40-digit arithmetic",
    "recomputed",
)
def test_puromycin() -> None:
    x = [0.02, 0.02, 0.06, 0.06, 0.11, 0.11, 0.22, 0.22, 0.56, 0.56, 1.10, 1.10]
    y = [76, 47, 97, 107, 123, 139, 159, 152, 191, 201, 207, 200]
    fit = fit_curve(lambda x, p: p[0] * x / (p[1] + x), x, y, (205, 0.08))
    assert fit.parameters == pytest.approx([212.68374314254, 0.064121281681567], rel=1e-8)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([6.94715516, 0.0082809495], rel=1e-6)
    assert fit.residual_sd == pytest.approx(10.9336581913, rel=1e-10)
    assert fit.df == 10


@pytest.mark.reference(
    "Logistic in log concentration: DNase, run 1", "R data set, optimum by 40-digit arithmetic", "recomputed"
)
def test_dnase() -> None:
    x = np.repeat(12.5 / 2.0 ** np.array([8, 6, 5, 4, 3, 2, 1, 0]), 2)
    y = [
        0.017,
        0.018,
        0.121,
        0.124,
        0.206,
        0.215,
        0.377,
        0.374,
        0.614,
        0.609,
        1.019,
        1.001,
        1.334,
        1.364,
        1.730,
        1.710,
    ]
    fit = fit_curve(lambda x, p: p[0] / (1 + np.exp((p[1] - np.log(x)) / p[2])), x, y, (2.3, 1.5, 1.0))
    assert fit.parameters == pytest.approx([2.3451792934, 1.4830893149, 1.0414546922], rel=1e-8)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.078154, 0.081353, 0.032271], rel=2e-5)
    assert fit.residual_sd == pytest.approx(0.01919449, rel=1e-6)


def test_too_few_points() -> None:
    with pytest.raises(MethodError, match="2 points cannot fix 2 parameters"):
        fit_curve(_misra1a, [1, 2], [1, 2], (1, 1))
