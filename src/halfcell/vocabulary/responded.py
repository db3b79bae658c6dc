"""Findings about the response."""

from __future__ import annotations

from typing import Any

from halfcell.vocabulary.term import Term


def _t(name: str, label: str, unit: str, si: str, meaning: str, better: str = "", **more: Any) -> Term:
    return Term(
        name=name, label=label, unit=unit, si=si, meaning=meaning, better=better, place="Responds", **more
    )


RESPONDED: tuple[Term, ...] = (
    _t("response_class", "Kind of response", "1", "1", "Whether the analyte gives no response, a wave without a peak, or a defined peak; the value is its probability.", word=True, words=("none", "wave", "peak")),
    _t("peak_potential", "Peak potential", "V", "V", "Potential of the analyte's peak against the study's reference electrode."),
    _t("peak_current", "Peak current", "uA", "A", "Height of the analyte's peak over its baseline, oxidation positive."),
    _t("response_current", "Response", "uA", "A", "Current of the analyte over the blank, without its sign: a peak's height, a wave's, or for no response what is read where the others have theirs.", "higher"),
    _t("peak_potential_against", "Peak potential against another reference", "V", "V", "Potential of the analyte's peak against another reference electrode, named by the condition with the pH used."),
    _t("half_peak_potential", "Half-peak potential", "V", "V", "Potential at half the height of the peak, before it."),
    _t("half_wave_potential", "Half-wave potential", "V", "V", "Potential at half the height of a wave without a peak."),
    _t("onset_potential", "Onset potential", "V", "V", "Where the tangent at half height meets the baseline."),
    _t("peak_width", "Peak width", "mV", "V", "Full width of the peak at half its height."),
    _t("peak_charge", "Peak charge", "uC", "C", "Charge under the peak over its baseline."),
    _t("peak_asymmetry", "Asymmetry", "1", "1", "Half-width before the peak over that after it."),
    _t("signal_to_noise", "Signal to noise", "1", "1", "Peak height over the standard deviation of the noise of a sample.", "higher"),
    _t("definition_ratio", "Definition", "1", "1", "1 − i(after)/i(peak): 0 for a wave, 1 for a peak that falls back to its baseline.", "higher"),
    _t("scan_rate_measured", "Scan rate", "V/s", "V/s", "Scan rate found in the data."),
    _t("cycle_drift", "Drift a cycle", "percent", "1", "Change of the response from one cycle to the next, relative to its height."),
    _t("double_layer_capacitance", "Capacitance", "uF/cm^2", "F/m^2", "Double-layer capacitance per geometric area.", "lower"),
    _t("capacitance_per_real_area", "Capacitance per real area", "uF/cm^2", "F/m^2", "Double-layer capacitance per real area."),
    _t("capacitance_ratio", "Capacitance to bare", "1", "1", "Double-layer capacitance over that of the bare substrate.", "lower"),
    _t("capacitance_exponent", "Exponent of charging", "1", "1", "Exponent of the charging current against the scan rate; 1 for a capacitance."),
    _t("potential_window", "Potential window", "V", "V", "Width between the potentials at which the blank reaches the stated current density.", "higher"),
    _t("window_low", "Lower end of the window", "V", "V", "Potential at which the blank reaches the stated cathodic current density."),
    _t("window_high", "Upper end of the window", "V", "V", "Potential at which the blank reaches the stated anodic current density."),
    _t("scan_rate_exponent", "Exponent of scan rate", "1", "1", "b in i_p ∝ v^b: 0.5 for diffusion, 1 for a bound layer."),
    _t("control_of_current", "What controls the current", "1", "1", "Diffusion, a bound layer, both, or neither, from the exponent's interval; the value is the exponent.", word=True),
    _t("diffusional_share", "Diffusional share", "percent", "1", "Share of the peak current at the reference scan rate that grows with the square root of the scan rate."),
    _t("electroactive_area", "Electroactive area", "cm^2", "m^2", "Area a diffusing molecule sees (Randles–Ševčík); not the real area of a rough surface."),
    _t("probe_area", "Area by probe", "cm^2", "m^2", "Area an outer-sphere probe sees, from its peak currents against the root of the scan rate. Its diffusion layer is far thicker than the roughness is high, so that the roughness a monolayer's charge counts is not seen: not interchangeable with the real area."),
    _t("diffusion_coefficient", "Diffusion coefficient", "cm^2/s", "m^2/s", "Diffusion coefficient from the peak current against the root of the scan rate."),
    _t("transfer_coefficient", "Transfer coefficient", "1", "1", "αn of an irreversible transfer, from the peak's movement with the scan rate or its half-width."),
    _t("catalytic_trend", "i_p/√v against v", "1", "1", "Relative change of i_p/√v per decade of scan rate: clearly negative for a current limited by a reaction before or after the transfer."),
    _t("peak_separation", "Peak separation", "mV", "V", "Anodic less cathodic peak potential."),
    _t("peak_ratio", "Ratio of peaks", "1", "1", "Reverse over forward peak current, corrected for the missing baseline."),
    _t("rate_constant", "Standard rate constant", "cm/s", "m/s", "Standard rate constant of a quasi-reversible couple, from Nicholson's ψ."),
    _t("surface_coverage", "Coverage of bound species", "nmol/cm^2", "mol/m^2", "Γ from the charge under the bound layer's wave, per geometric area."),
    _t("real_area", "Real area", "cm^2", "m^2", "Area from the charge of a monolayer over a stated charge density.", "higher"),
    _t("roughness", "Roughness", "1", "1", "Real area over geometric area."),
    _t("deposition_charge", "Deposition charge", "mC", "C", "Charge passed to deposit the metal, stated or from the record."),
    _t("metal_deposited", "Metal deposited", "ug/cm^2", "kg/m^2", "Mass of metal per geometric area, from the deposition charge."),
    _t("nominal_thickness", "Nominal thickness", "nm", "m", "Thickness if the deposited metal were an even film."),
    _t("moles_deposited", "Amount of metal deposited", "nmol/cm^2", "mol/m^2", "Amount of metal per geometric area, from the deposition charge."),
    _t("metal_seen_to_paid", "Metal seen / paid for", "1", "1", "Metal in the micrographs over metal from the deposition charge."),
    _t("growth_of_nuclei", "Growth of nuclei", "1", "1", "Whether nuclei form at once (instantaneous) or all the while (progressive), with the probability.", word=True),
    _t("nuclei_density", "Density of nuclei", "1/cm^2", "1/m^2", "Number of nuclei per geometric area from the deposition transient."),
    _t("effect_on_response", "Effect on the response", "uA", "A", "Change of the response by a step of the recipe: main effect or interaction, named by the condition."),
    _t("steps_needed", "Are all steps needed", "1", "1", "Whether the response needs all steps of the recipe together: shown, or not shown.", word=True),
)  # fmt: skip
