"""Methods behind the findings that are quantified."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

_PRACTICE = "common practice, no source"

QUANTIFIED: tuple[Method, ...] = (
    Method(name="plateau", formula="ī over the last part of each level; u = s/√n_eff, n_eff = n(1 − ρ)/(1 + ρ)", source="Bayley & Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184 (from memory)", sentence="Plateau currents of stirred solutions were robust means over the last part of each level, their uncertainty allowing for the memory of the noise."),
    Method(name="response time", formula="i(t) = i₀ + Δi(1 − e^(−t/τ)); t90 = τ ln 10", source=_PRACTICE, sentence="Response times were those to nine tenths of a step, from a first-order rise fitted so that the injection's disturbance was outvoted."),
    Method(name="sampled current", formula="ī over a window after the potential step that the charging current has left", source="sampled-current voltammetry, Bard & Faulkner, Electrochemical Methods (from memory)", sentence="Currents after potential steps were averaged over a window common to all records."),
    Method(name="Cottrell line", formula="i = a + s/√t, s = nFAc√(D/π)", source="Cottrell, Z. Phys. Chem. 42 (1903) 385 (from memory)", sentence="The decay after potential steps was tested for a straight line against 1/√t."),
    Method(name="calibration line", formula="i = a + S c by least squares over the linear range; u by residual scatter", source="Draper & Smith, Applied Regression Analysis (from memory); held to NIST StRD", sentence="Calibrations were straight lines by least squares, fitted electrode by electrode over the linear range."),
    Method(name="sensitivity per area", formula="S/A", source=_PRACTICE, sentence="Sensitivities were divided by the geometric area."),
    Method(name="sensitivity per real area", formula="S/A_real, with interval by Fieller", source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)", sentence="Sensitivities were divided by the real area."),
    Method(name="sensitivity per mass", formula="S/m", source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)", sentence="Sensitivities were divided by the mass of metal."),
    Method(name="mean of electrodes", formula="mean of S; u = s/√m with m − 1 degrees of freedom", source="two-stage analysis of random slopes, common practice, no source; coverage by simulation in docs/coverage.md", sentence="A group's sensitivity was the mean of its electrodes', with the scatter between electrodes in its uncertainty."),
    Method(name="between electrodes", formula="s_b² = s²(S) − mean u²(S); interval by χ² and MOVER", source="one-way random effects by moments, common practice, no source", sentence="The scatter between electrodes was that of the sensitivities less what the fits explain."),
    Method(name="linear range", formula="largest contiguous span not rejected by lack of fit and Mandel's test", source="Mandel, The Statistical Analysis of Experimental Data, 1964 (from memory)", sentence="The linear range was the largest span of levels on which neither lack of fit nor Mandel's test rejected the straight line."),
    Method(name="saturation", formula="i = a + i_max c/(K + c)", source="Langmuir's isotherm as a calibration curve, common practice, no source", sentence="A response that levels off was described by a site-limited curve and compared with the line by AICc."),
    Method(name="ICH Q2, residuals", formula="3.3 s/S and 10 s/S, s the residual standard deviation", source="ICH Q2(R1), 2005 (from memory)", sentence="Limits were taken as 3.3 and 10 residual standard deviations over the slope (ICH Q2)."),
    Method(name="ICH Q2, intercept", formula="3.3 u(a)/S and 10 u(a)/S", source="ICH Q2(R1), 2005 (from memory)", sentence="Limits were also taken from the standard deviation of the intercept (ICH Q2)."),
    Method(name="ICH Q2, blanks", formula="3.3 s_B/S and 10 s_B/S", source="ICH Q2(R1), 2005 (from memory)", sentence="Limits were also taken from the standard deviation of blanks (ICH Q2)."),
    Method(name="IUPAC 1976", formula="3 s_B/S", source="IUPAC, Spectrochim. Acta B 33 (1978) 242 (from memory)", sentence="The three-sigma limit of IUPAC was taken from blanks."),
    Method(name="Currie 1995", formula="L_C = t s_B √(1/K + 1/n)/S; L_D = δ s_B √(1/K + 1/n)/S, δ of the noncentral t", source="Currie, Pure Appl. Chem. 67 (1995) 1699", sentence="Critical level and detection limit after Currie were computed from blanks with the noncentral t distribution."),
    Method(name="ISO 11843-2", formula="x_C = t (s/S) √(1/K + 1/n + x̄²/S_xx); x_D = δ (s/S) √(…)", source="ISO 11843-2:2000 (from memory; error rates confirmed by simulation)", sentence="Decision and detection limits after ISO 11843-2 were computed from the calibration line with risks of 5 %."),
    Method(name="DIN 32645, calibration", formula="x_NG = t (s/S) √(1/K + 1/n + x̄²/S_xx); x_EG = 2 x_NG; x_BG with k = 3", source="DIN 32645:2008 (from memory)", sentence="Limits after DIN 32645 were computed from the calibration line."),
    Method(name="DIN 32645, blanks", formula="x_NG = t (s_B/S) √(1/K + 1/n); x_EG = 2 x_NG", source="DIN 32645:2008 (from memory)", sentence="Limits after DIN 32645 were computed from blanks."),
    Method(name="US EPA", formula="t(n − 1, 0.99) s/S of replicates near the limit", source="US EPA, 40 CFR 136, Appendix B (from memory)", sentence="The method detection limit was computed from replicates near the limit."),
    Method(name="repeatability", formula="s of repeated readings at one level, pooled, over their mean", source="ISO 5725-2 (from memory)", sentence="Repeatability was the pooled relative standard deviation of repeated readings on one electrode."),
    Method(name="retention", formula="signal after / signal before, interval by Fieller", source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)", sentence="Retention was the ratio of the signals after and before."),
    Method(name="inverse prediction", formula="x = (y − a)/S, interval by Fieller", source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)", sentence="Contents of samples were read from the calibration line with Fieller's interval."),
    Method(name="standard addition", formula="x_E = a/S of the sample's own additions, interval by Fieller", source="Miller & Miller, Statistics and Chemometrics for Analytical Chemistry, ch. 5 (from memory)", sentence="Contents by standard addition were the intercept over the slope of the sample's own line."),
    Method(name="recovery", formula="(found with spike − found without)/added", source=_PRACTICE, sentence="Recovery was the rise of the content on spiking over the amount added."),
    Method(name="false concentration", formula="Δi(level)/S, interval by Fieller", source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)", sentence="The false concentration of a confounder was the current it adds at its stated level over the sensitivity."),
    Method(name="selectivity coefficient", formula="S_j/S_i, interval by Fieller", source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)", sentence="Selectivity coefficients were ratios of sensitivities."),
    Method(name="additivity", formula="t test of the slopes with and without the confounder", source="comparison of two regression lines, Draper & Smith (from memory)", sentence="Additivity was tested by the analyte's slope with and without the confounder."),
    Method(name="told apart", formula="R = ΔE_p/((w₁ + w₂)/2); by potential where R > 1, else by difference where additive", source=_PRACTICE, sentence="Whether a confounder can be told from the analyte was judged by the distance of their peaks against their widths, else by the difference of additive signals."),
)  # fmt: skip
