from __future__ import annotations

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.line import fit_line

FLUORESCEIN_X = [0, 2, 4, 6, 8, 10, 12]
FLUORESCEIN_Y = [2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7]


@pytest.mark.reference(
    "Line with an intercept: Norris",
    "NIST StRD linear regression, Norris (file shipped with scipy's tests)",
    "seen",
)
def test_norris() -> None:
    found = importlib.util.find_spec("scipy")
    assert found is not None
    assert found.origin is not None
    path = Path(found.origin).parent / "stats" / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not path.exists():
        pytest.skip("this scipy was installed without its test data")
    rows = [line.split() for line in path.read_text("ascii").splitlines()[60:96]]
    y, x = np.array(rows, dtype=float).T
    line = fit_line(x, y)
    assert line.intercept.value == pytest.approx(-0.262323073774029, rel=1e-12)
    assert line.intercept.u == pytest.approx(0.232818234301152, rel=1e-12)
    assert line.slope.value == pytest.approx(1.00211681802045, rel=1e-14)
    assert line.slope.u == pytest.approx(0.429796848199937e-03, rel=1e-12)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)
    assert line.r2 == pytest.approx(0.999993745883712, rel=1e-14)
    assert line.f == pytest.approx(5436385.54079785, rel=1e-9)


@pytest.mark.reference(
    "Line through zero, uncentred r²: NoInt1", "NIST StRD linear regression, NoInt1", "seen"
)
def test_no_intercept_1() -> None:
    x = np.arange(60.0, 71.0)
    line = fit_line(x, x + 70, through_zero=True)
    assert line.slope.value == pytest.approx(2.07438016528926, rel=1e-14)
    assert line.slope.u == pytest.approx(0.165289256198347e-01, rel=1e-12)
    assert line.residual_sd == pytest.approx(3.56753034006338, rel=1e-12)
    assert line.r2 == pytest.approx(0.999365492298663, rel=1e-14)
    assert line.f == pytest.approx(15750.25, rel=1e-12)


@pytest.mark.reference("Line through zero: NoInt2", "NIST StRD linear regression, NoInt2", "seen")
def test_no_intercept_2() -> None:
    line = fit_line([4, 5, 6], [3, 4, 4], through_zero=True)
    assert line.slope.value == pytest.approx(0.727272727272727, rel=1e-14)
    assert line.slope.u == pytest.approx(0.420827318078432e-01, rel=1e-12)
    assert line.residual_sd == pytest.approx(0.369274472937998, rel=1e-12)
    assert line.r2 == pytest.approx(0.993348115299335, rel=1e-14)
    assert line.f == pytest.approx(298.666666666667, rel=1e-12)


@pytest.mark.reference(
    "Calibration line of fluorescein with intervals",
    "Miller & Miller, Statistics and Chemometrics for Analytical Chemistry, ch. 5",
    "seen",
)
def test_fluorescein() -> None:
    line = fit_line(FLUORESCEIN_X, FLUORESCEIN_Y)
    assert line.slope.value == pytest.approx(1.930357143, abs=5e-10)
    assert line.slope.u == pytest.approx(0.04090026446, abs=5e-12)
    assert line.intercept.value == pytest.approx(1.517857143, abs=5e-10)
    assert line.intercept.u == pytest.approx(0.294936001, abs=5e-10)
    assert line.residual_sd == pytest.approx(0.4328477132, abs=5e-11)
    assert line.r2 == pytest.approx(0.9977603861, abs=5e-11)
    b, a = line.slope.interval(), line.intercept.interval()
    assert (b.low, b.high) == pytest.approx((1.825220, 2.035495), abs=1e-6)
    assert (a.low, a.high) == pytest.approx((0.759700, 2.276014), abs=1e-6)


@pytest.mark.reference(
    "Inverse prediction of fluorescein", "Miller & Miller, ch. 5 (recomputed)", "recomputed"
)
@pytest.mark.parametrize(
    ("y", "m", "x", "u", "half"),
    [
        (2.9, 1, 0.716004, 0.264570, 0.680098),
        (13.5, 1, 6.207216, 0.239754, 0.616308),
        (23.0, 1, 11.128585, 0.263193, 0.676560),
        (13.5, 4, 6.207216, 0.140613, 0.361458),
        (13.5, 6, 6.207216, 0.124828, 0.320882),
    ],
)
def test_inverse(y: float, m: int, x: float, u: float, half: float) -> None:
    found = fit_line(FLUORESCEIN_X, FLUORESCEIN_Y).inverse(y, replicates=m)
    assert found.x.value == pytest.approx(x, abs=1e-6)
    assert found.x.u == pytest.approx(u, abs=1e-6)
    simple = found.x.interval()
    assert (simple.high - simple.low) / 2 == pytest.approx(half, abs=2e-6)
    # Fieller's interval is not symmetric, but close to the simple one where g is small.
    assert found.g < 0.05
    assert found.interval.low == pytest.approx(simple.low, abs=0.02)
    assert found.interval.high == pytest.approx(simple.high, abs=0.02)


def test_inverse_solves_the_prediction_interval() -> None:
    line = fit_line(FLUORESCEIN_X, FLUORESCEIN_Y)
    found = line.inverse(13.5)
    for end, sign in ((found.interval.low, 1), (found.interval.high, -1)):
        edge = line.at(end).value + sign * float(line.prediction([end])[0])
        assert edge == pytest.approx(13.5, abs=1e-9)


def test_inverse_through_zero_solves_the_prediction_interval() -> None:
    line = fit_line([1, 2, 3, 4, 5], [2.2, 3.9, 6.1, 7.8, 10.1], through_zero=True)
    found = line.inverse(5.0)
    assert line.at(found.interval.low).value + float(
        line.prediction([found.interval.low])[0]
    ) == pytest.approx(5.0, abs=1e-9)
    assert line.at(found.interval.high).value - float(
        line.prediction([found.interval.high])[0]
    ) == pytest.approx(5.0, abs=1e-9)


def test_inverse_of_what_was_predicted() -> None:
    line = fit_line(FLUORESCEIN_X, FLUORESCEIN_Y)
    for x in (0.3, 5.5, 11.9):
        assert line.inverse(line.at(x).value).x.value == pytest.approx(x, abs=1e-12)


def test_a_flat_line_has_an_unbounded_inverse() -> None:
    line = fit_line([0, 1, 2, 3, 4], [1.0, 1.2, 0.9, 1.1, 1.02])
    found = line.inverse(1.3)
    assert math.isinf(found.interval.low)
    assert math.isinf(found.interval.high)


def test_equal_weights_are_ordinary_and_known_variances_set_the_uncertainty() -> None:
    rng = np.random.default_rng(1)
    x = np.linspace(0, 10, 8)
    y = 1 + 2 * x + rng.normal(0, 0.3, 8)
    plain, weighted = fit_line(x, y), fit_line(x, y, weights=np.full(8, 7.0))
    assert weighted.slope.u == pytest.approx(plain.slope.u, rel=1e-12)
    known = fit_line(x, y, weights=np.full(8, 1 / 0.3**2), known=True)
    assert known.slope.u == pytest.approx(0.3 / math.sqrt(np.sum((x - x.mean()) ** 2)), rel=1e-12)
    assert math.isinf(known.slope.df)


@pytest.mark.reference("Weighted line, band and prediction", "statsmodels WLS", "recomputed")
def test_against_a_general_library() -> None:
    import statsmodels.api as sm

    rng = np.random.default_rng(2)
    x = np.array([0.5, 1, 2, 5, 10, 20, 50])
    y = 0.2 + 3 * x + rng.normal(0, 0.05 * x + 0.1)
    w = 1 / (0.05 * x + 0.1) ** 2
    line = fit_line(x, y, weights=w)
    other = sm.WLS(y, sm.add_constant(x), weights=w).fit()
    assert (line.intercept.value, line.slope.value) == pytest.approx(tuple(other.params), rel=1e-10)
    assert (line.intercept.u, line.slope.u) == pytest.approx(tuple(other.bse), rel=1e-10)
    assert line.r2 == pytest.approx(other.rsquared, rel=1e-10)
    frame = other.get_prediction(sm.add_constant(x)).summary_frame(alpha=0.05)
    assert line.confidence(x) == pytest.approx(np.asarray(frame["mean_ci_upper"] - frame["mean"]), rel=1e-9)


def test_refusals_say_the_numbers() -> None:
    with pytest.raises(MethodError, match="at least 3 points; there are 2"):
        fit_line([1, 2], [1, 2])
    with pytest.raises(MethodError, match="same x"):
        fit_line([1, 1, 1], [1, 2, 3])
    with pytest.raises(MethodError, match="not finite"):
        fit_line([1, 2, 3], [1, math.nan, 3])
