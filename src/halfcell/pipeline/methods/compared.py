"""Methods behind the findings that are compared."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

_WELCH = "Welch 1947, Biometrika 34:28 (from memory); family-wise level derived in docs/choosing.md"
_DESIRE = "Derringer & Suich 1980, J. Qual. Technol. 12:214 (from memory)"
_DRAWS = "Monte Carlo over the joint distribution of the means: JCGM 101:2008 (from memory); calibration in docs/choosing.md"

COMPARED: tuple[Method, ...] = (
    Method(
        name="mean over electrodes",
        formula="m = Σ x_i / n; u = s/√n with n − 1 degrees of freedom, or √(Σ u_i²)/n where that is wider",
        source="JCGM 100:2008 (GUM) 4.2 (from memory)",
        sentence="Groups were described by the mean over electrodes, several values of one electrode having been averaged first.",
    ),
    Method(
        name="pairs by Welch's t",
        formula="t = (m_1 − m_2)/√(s_1²/n_1 + s_2²/n_2), Satterthwaite's degrees of freedom; each pair at the level for which all pairs together err at most at the stated rate",
        source=_WELCH,
        sentence="Groups were compared pair by pair by Welch's t with simultaneous intervals whose family-wise error is held for unequal variances and few electrodes.",
    ),
    Method(
        name="ratio of means by Fieller",
        formula="{ρ : (m_1 − ρ m_2)² ≤ t² (u_1² + ρ² u_2²)}",
        source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)",
        sentence="Ratios of means were given Fieller's interval.",
    ),
    Method(
        name="two one-sided tests",
        formula="p = max of the one-sided p values of −Δ and +Δ against the difference",
        source="Schuirmann 1987, J. Pharmacokinet. Biopharm. 15:657 (from memory)",
        sentence="Two groups were called the same only where two one-sided tests showed their difference to lie within the stated margin.",
    ),
    Method(
        name="power of Welch's t",
        formula="P(|t'| > t_crit), t' noncentral, integrated over the ratio of sample variances, at the present standard deviations",
        source="derived in docs/choosing.md, checked by simulation",
        sentence="For every pair the smallest difference that could have been seen with a chance of 80 %, and the electrodes needed, were computed from the noncentral t.",
    ),
    Method(
        name="must by interval",
        formula="passed: the whole interval is on the right side of the limit; failed: on the wrong side; else undecided",
        source="common practice, no source",
        sentence="Each must was passed, failed or left undecided by the interval of the candidate's mean and not by its point value.",
    ),
    Method(
        name="desirability",
        formula="d = ((y − low)/(high − low))^shape within 0 … 1; D = (Π d_i^w_i)^(1/Σ w_i)",
        source=_DESIRE,
        sentence="Candidates that failed no must were ranked by desirability.",
    ),
    Method(
        name="draws of the means",
        formula="means drawn jointly from t distributions about the estimates, findings of one electrode kept correlated; share of draws",
        source=_DRAWS,
        sentence="The uncertainty of all findings was carried into the ranking by random draws, which give each candidate a probability of being best.",
    ),
    Method(
        name="turning point of a weight",
        formula="w_i = −Σ_{j≠i} w_j ln(d_j/d'_j) / ln(d_i/d'_i)",
        source="derived here from the weighted geometric mean",
        sentence="The weight of each want at which the lead would change was solved for exactly.",
    ),
)
