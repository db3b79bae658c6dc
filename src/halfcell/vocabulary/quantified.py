"""Findings about quantification and confounders."""

from __future__ import annotations

from halfcell.vocabulary.term import Term

_Q, _C = "Quantifies", "Confounds"

QUANTIFIED: tuple[Term, ...] = (
    Term(name="sensitivity", label="Sensitivity", meaning="Slope of the calibration line of the electrode, positive in the direction of the material's response.", unit="uA/(mmol/L)", si="A/(mol/m^3)", place=_Q, better="higher"),
    Term(name="sensitivity_per_area", label="Sensitivity per area", meaning="Sensitivity over the geometric area.", unit="uA/(mmol/L)/cm^2", si="A/(mol/m^3)/m^2", place=_Q, better="higher"),
    Term(name="sensitivity_per_real_area", label="Sensitivity per real area", meaning="Sensitivity over the real area found from a monolayer's charge.", unit="uA/(mmol/L)/cm^2", si="A/(mol/m^3)/m^2", place=_Q, better="higher"),
    Term(name="sensitivity_per_mass", label="Sensitivity per metal mass", meaning="Sensitivity over the mass of metal deposited.", unit="uA/(mmol/L)/ug", si="A/(mol/m^3)/kg", place=_Q, better="higher"),
    Term(name="mixed_sensitivity", label="Mean sensitivity, mixed model", meaning="Mean slope of a mixed model with random intercepts and slopes of the electrodes, by REML.", unit="uA/(mmol/L)", si="A/(mol/m^3)", place=_Q, better="higher"),
    Term(name="mean_sensitivity", label="Mean sensitivity", meaning="Mean of the sensitivities of a group's electrodes; its uncertainty holds the scatter between electrodes.", unit="uA/(mmol/L)", si="A/(mol/m^3)", place=_Q, better="higher"),
    Term(name="intercept", label="Intercept", meaning="Current of the calibration line at no analyte.", unit="uA", si="A", place=_Q),
    Term(name="residual_sd", label="Residual standard deviation", meaning="Scatter of single points about the calibration line.", unit="uA", si="A", place=_Q, better="lower"),
    Term(name="linearity", label="Linearity", meaning="Straight where neither test rejects one line through all levels at the study's confidence, bent where one does, or untested.", place=_Q, word=True),
    Term(name="linear_range_low", label="Lowest level of the linear range", meaning="Lower end of the largest span of levels on one line.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="linear_range_high", label="Highest level of the linear range", meaning="Upper end of the largest span of levels on one line.", unit="umol/L", si="mol/m^3", place=_Q, better="higher"),
    Term(name="limit_of_detection", label="Limit of detection", meaning="Limit of detection by the definition the study names.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="limit_of_quantification", label="Limit of quantification", meaning="Limit of quantification by the definition the study names.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="decision_limit", label="Decision limit", meaning="Level above which a signal is no blank, by the definition in the condition.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="detection_limit", label="Detection limit", meaning="Limit of detection by the definition in the condition.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="quantification_limit", label="Quantification limit", meaning="Limit of quantification by the definition in the condition.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="decision_limit_iso", label="Decision limit, ISO 11843-2", meaning="Level read as more than a blank with a risk of 5 % of being wrong.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="detection_limit_iso", label="Detection limit, ISO 11843-2", meaning="Level missed with a risk of 5 % only.", unit="umol/L", si="mol/m^3", place=_Q, better="lower"),
    Term(name="initial_sensitivity", label="Initial sensitivity", meaning="Slope at no analyte of a site-limited curve, where the response levels off.", unit="uA/(mmol/L)", si="A/(mol/m^3)", place=_Q, better="higher"),
    Term(name="sensitivity_errors_in_x", label="Sensitivity, errors in x", meaning="Slope of the line that allows for uncertain levels, given where they matter.", unit="uA/(mmol/L)", si="A/(mol/m^3)", place=_Q, better="higher"),
    Term(name="saturation_current", label="Saturation current", meaning="Current at which a site-limited response levels off.", unit="uA", si="A", place=_Q),
    Term(name="half_saturation", label="Half-saturation level", meaning="Level at which half the saturation current flows.", unit="umol/L", si="mol/m^3", place=_Q),
    Term(name="response_time", label="Response time", meaning="Time from an addition to nine tenths of the step.", unit="s", si="s", place=_Q, better="lower"),
    Term(name="sampled_current", label="Sampled current", meaning="Mean current in the sampling window after a potential step.", unit="uA", si="A", place=_Q),
    Term(name="plateau_current", label="Plateau current", meaning="Steady current at one level of a stirred solution.", unit="uA", si="A", place=_Q),
    Term(name="plateau_drift", label="Drift", meaning="Slope of the current before the first addition over time.", unit="nA/min", si="A/s", place=_Q),
    Term(name="blank_noise", label="Blank noise", meaning="Standard deviation of single readings of the blank current.", unit="nA", si="A", place=_Q, better="lower"),
    Term(name="cottrell_slope", label="Slope against 1/√t", meaning="Slope of the current after a potential step against 1/√t.", unit="uA*s^0.5", si="A*s^0.5", place=_Q),
    Term(name="repeatability", label="Repeatability", meaning="Relative standard deviation of repeated readings at one level on one electrode.", unit="percent", si="1", place=_Q, better="lower"),
    Term(name="between_electrode_rsd", label="Scatter between electrodes", meaning="Relative standard deviation of the sensitivity between electrodes of a group, that of the fit taken out.", unit="percent", si="1", place=_Q, better="lower"),
    Term(name="between_batch_rsd", label="Scatter between batches", meaning="Relative standard deviation of the sensitivity between batches of a group.", unit="percent", si="1", place=_Q, better="lower"),
    Term(name="retention", label="Retention", meaning="Signal after exposure over the signal before.", unit="percent", si="1", place=_Q, better="higher"),
    Term(name="storage_retention", label="Retention in storage", meaning="Signal after storage over the signal of the fresh electrode.", unit="percent", si="1", place=_Q, better="higher"),
    Term(name="content", label="Content", meaning="Analyte read in a sample.", unit="umol/L", si="mol/m^3", place=_Q),
    Term(name="recovery", label="Recovery", meaning="Analyte found over analyte added to a sample.", unit="percent", si="1", place=_Q),
    Term(name="content_by_addition", label="Content by standard addition", meaning="Analyte in a sample from its own standard additions.", unit="umol/L", si="mol/m^3", place=_Q),
    Term(name="false_concentration", label="False concentration", meaning="Analyte level that the confounder at its stated level would be read as.", unit="umol/L", si="mol/m^3", place=_C, better="lower"),
    Term(name="false_concentration_by_sweep", label="False concentration, voltammogram", meaning="Analyte level that the confounder's voltammetric current at the analyte's peak would be read as.", unit="umol/L", si="mol/m^3", place=_C, better="lower"),
    Term(name="selectivity_coefficient", label="Selectivity coefficient", meaning="Sensitivity to the confounder over that to the analyte.", unit="1", si="1", place=_C, better="lower"),
    Term(name="confounder_signal", label="Signal of the confounder", meaning="Current that the confounder at its measured level adds to the blank.", unit="uA", si="A", place=_C),
    Term(name="additivity", label="Additivity", meaning="Not additive where the analyte's slope is shown to change with the confounder present, additive where no change is shown, or untested.", place=_C, word=True),
    Term(name="slope_ratio", label="Slope with over without", meaning="Sensitivity with the confounder present over that without.", unit="1", si="1", place=_C),
    Term(name="peak_resolution", label="Resolution of peaks", meaning="Distance of the analyte's and the confounder's peaks over their mean width.", unit="1", si="1", place=_C, better="higher"),
    Term(name="told_apart", label="Told apart", meaning="By potential, by difference, no, not needed or indistinguishable: how the confounder can be told from the analyte.", place=_C, word=True),
)  # fmt: skip
