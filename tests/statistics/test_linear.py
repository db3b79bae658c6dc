from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.linear import fit_linear
from halfcell.statistics.polynomial import fit_polynomial

X = np.arange(21.0)
WAMPLER3 = [760, -2042, 2111, -1684, 3888, 1858, 11379, 17560, 39287, 64382, 113159, 175108, 273291, 400186, 581243, 811568, 1121004, 1506550, 2002767, 2611612, 3369180]  # fmt: skip
WAMPLER4 = [75901, -204794, 204863, -204436, 253665, -200894, 214131, -185192, 221249, -138370, 315911, -27644, 455253, 197434, 783995, 608816, 1370781, 1303798, 2205519, 2408860, 3444321]  # fmt: skip
WAMPLER_SE = np.array([2152.32624678170, 2363.55173469681, 779.343524331583, 101.475507550350, 5.64566512170752, 0.112324854679312])  # fmt: skip


@pytest.mark.reference(
    "Ill-conditioned polynomial: Wampler1", "NIST StRD linear regression, Wampler1", "seen"
)
def test_wampler_1() -> None:
    fit = fit_polynomial(X, sum(X**k for k in range(6)), 5)
    assert fit.coefficients == pytest.approx(np.ones(6), rel=1e-9)
    assert fit.residual_sd < 1e-7


@pytest.mark.reference(
    "Ill-conditioned polynomial: Wampler3", "NIST StRD linear regression, Wampler3", "seen"
)
def test_wampler_3() -> None:
    fit = fit_polynomial(X, WAMPLER3, 5)
    assert fit.coefficients == pytest.approx(np.ones(6), rel=1e-9)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(WAMPLER_SE, rel=1e-9)
    assert fit.residual_sd == pytest.approx(2360.14502379268, rel=1e-11)
    assert fit.r2 == pytest.approx(0.999995559025820, rel=1e-13)


@pytest.mark.reference(
    "Ill-conditioned polynomial: Wampler4", "NIST StRD linear regression, Wampler4", "seen"
)
def test_wampler_4() -> None:
    fit = fit_polynomial(X, WAMPLER4, 5)
    assert fit.coefficients == pytest.approx(np.ones(6), rel=1e-7)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(100 * WAMPLER_SE, rel=1e-9)
    assert fit.residual_sd == pytest.approx(236014.502379268, rel=1e-11)
    assert fit.r2 == pytest.approx(0.957478440825662, rel=1e-12)


@pytest.mark.reference(
    "Six predictors that nearly depend on each other: Longley",
    "NIST StRD linear regression, Longley (data from statsmodels)",
    "seen",
)
def test_longley() -> None:
    import statsmodels.api as sm

    data = sm.datasets.longley.load_pandas()
    names = ["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]
    fit = fit_linear(
        np.column_stack([np.ones(16), data.exog[names].to_numpy(float)]), data.endog.to_numpy(float)
    )
    assert fit.coefficients == pytest.approx(
        [-3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359, -0.0511041056535807, 1829.15146461355],
        rel=1e-9,
    )  # fmt: skip
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        [890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675, 0.226073200069370, 455.478499142212],
        rel=1e-9,
    )  # fmt: skip
    assert fit.residual_sd == pytest.approx(304.854073561965, rel=1e-10)
    assert fit.r2 == pytest.approx(0.995479004577296, rel=1e-12)
    assert fit.f == pytest.approx(330.285339234588, rel=1e-9)


def test_columns_that_depend_on_each_other_are_refused() -> None:
    with pytest.raises(MethodError, match="depend on each other"):
        fit_linear(np.column_stack([np.ones(5), np.full(5, 2.0)]), np.arange(5.0))
