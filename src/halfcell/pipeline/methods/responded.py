"""Methods behind the findings about the response."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

_BF = "Bard & Faulkner, Electrochemical Methods, 2nd ed., 2001 (from memory)"
_NS = "Nicholson & Shain, Anal. Chem. 1964, 36, 706"

RESPONDED: tuple[Method, ...] = (
    Method(
        name="response class",
        formula="P(model | data) from marginal likelihoods under a g-prior with g = n, AR(1) noise; 1 − i_after/i_p",
        source="Liang et al., J. Am. Stat. Assoc. 2008, 103, 410 (from memory); shapes of Nicholson & Shain 1964",
        sentence="Whether a record shows no response, a wave or a defined peak was decided between nested models of the blank-corrected branch with autocorrelated noise.",
    ),
    Method(
        name="peak over baseline",
        formula="i_p = i(E_p) − baseline(E_p); u² = u²(top) + u²(baseline) + u²(choice of baseline)",
        source="JCGM 100:2008 (uncertainty); construction: common practice, no source",
        sentence="Peaks were measured on the blank-corrected branch over a local baseline; the spread over the plausible baselines is part of every uncertainty.",
    ),
    Method(
        name="response at the peak's potential",
        formula="|i_analyte − i_blank| less its value before the response",
        source="common practice, no source",
        sentence="Where an electrode gave no peak its response was read at the potential at which the electrodes made by the whole recipe have theirs.",
    ),
    Method(
        name="scan rate from the data",
        formula="|dE/dt| by least squares in each sweep",
        source="common practice, no source",
        sentence="Scan rates were measured in the data and compared with the stated ones.",
    ),
    Method(
        name="drift between cycles",
        formula="change of the current's span from cycle to cycle",
        source="common practice, no source",
        sentence="The last of the cycles that agree with each other was used; the change between cycles is reported.",
    ),
    Method(
        name="half-difference of charging currents",
        formula="(i_up − i_down)/2 = C·v; exponent m of (i_up − i_down)/2 ∝ v^m",
        source=_BF,
        sentence="Double-layer capacitances are slopes of half the difference of the blank's currents in the two directions against scan rate, in a window where nothing reacts.",
    ),
    Method(
        name="ratio by Fieller's theorem",
        formula="all r with |a − r·b| ≤ t·u(a − r·b)",
        source="Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory)",
        sentence="Ratios to the bare substrate carry Fieller's interval.",
    ),
    Method(
        name="window at a current density",
        formula="E where |i − C·v|/A passes the stated current density",
        source="common practice, no source",
        sentence="The potential window is the range between the potentials at which the blank passes the stated current density.",
    ),
    Method(
        name="two-level effects",
        formula="contrasts of cell means, Satterthwaite degrees of freedom",
        source="Box, Hunter & Hunter, Statistics for Experimenters (from memory)",
        sentence="Main effects and interactions of the recipe's steps are contrasts of the cell means with unequal variances allowed.",
    ),
    Method(
        name="power law of scan rate",
        formula="ln i_p = a + b ln v",
        source=_BF,
        sentence="What controls the current was read from the exponent of the peak current against scan rate.",
    ),
    Method(
        name="parts of the current",
        formula="i(E) = k₁v + k₂√v",
        source="common practice, no source",
        sentence="Currents growing with the scan rate and with its square root were told apart point by point.",
    ),
    Method(
        name="Randles–Ševčík, reversible",
        formula="i_p = 0.4463 nFAc (nFvD/RT)^½",
        source=_NS,
        sentence="For reversible transfer the peak current was related to area, diffusion coefficient and concentration by the Randles–Ševčík equation.",
    ),
    Method(
        name="Randles–Ševčík, irreversible",
        formula="i_p = 0.4958 nFAc (αn_αFvD/RT)^½",
        source=_NS,
        sentence="For irreversible transfer the factor 0.4958 α^½ took the place of 0.4463.",
    ),
    Method(
        name="area by probe",
        formula="A = (di_p/d(K√v))/(0.4463 nFc (nFD/RT)^½), K(k⁰) with 1/k⁰ = argmin Σ((ΔE_p − ΔE_p(ψ, reversal))/u)² over all scan rates; the uncertainties of 1/k⁰ and of α, 0.4 to 0.6, are in that of A",
        source=f"{_NS}; K by Matsuda & Ayabe, Z. Elektrochem. 1955, 59, 494 (from memory; computed here), k⁰ by Nicholson, Anal. Chem. 1965, 37, 1351",
        sentence="The area seen by an outer-sphere probe was had from its peak currents against the root of the scan rate, corrected for the speed of the transfer by the peak separations at all scan rates.",
    ),
    Method(
        name="peak shift with scan rate",
        formula="dE_p/d ln v = RT/(2αn_αF)",
        source=_NS,
        sentence="Transfer coefficients were had from the movement of the peak with the logarithm of the scan rate.",
    ),
    Method(
        name="half-width of an irreversible peak",
        formula="|E_p − E_p/2| = 1.857 RT/(αn_αF)",
        source=_NS,
        sentence="Transfer coefficients were had from the distance of peak and half-peak potential.",
    ),
    Method(
        name="catalytic test",
        formula="d(i_p/√v)/d log v, relative",
        source=_NS,
        sentence="The trend of i_p/√v with scan rate was tested.",
    ),
    Method(
        name="peak ratio",
        formula="i_pr/i_pf = i_pr0/i_pf + 0.485 i_sp0/i_pf + 0.086",
        source="Nicholson, Anal. Chem. 1966, 38, 1406",
        sentence="Ratios of reverse to forward peaks were corrected after Nicholson.",
    ),
    Method(
        name="Nicholson's ψ",
        formula="ψ = k⁰ (RT/(πnFDv))^½ from ΔE_p",
        source="Nicholson, Anal. Chem. 1965, 37, 1351",
        sentence="Standard rate constants were had from the separation of the peaks.",
    ),
    Method(
        name="bound layer",
        formula="Γ = Q/(nFA); full width 3.53 RT/nF",
        source=_BF,
        sentence="Coverage by a bound couple was had from the charge under its wave.",
    ),
    Method(
        name="monolayer charge",
        formula="A = Q/q°",
        source="Trasatti & Petrii, Pure Appl. Chem. 1991, 63, 711 (title seen, numbers from memory)",
        sentence="Real areas are charges of a monolayer over the stated charge density, the double layer taken off.",
    ),
    Method(
        name="Faraday's law",
        formula="m = ηQM/(nF)",
        source="Faraday's law with IUPAC masses",
        sentence="Deposited masses follow from the charge, the electrons per atom and the current efficiency.",
    ),
    Method(
        name="overlapping peaks",
        formula="i = a + bE + Σ h_k f((E − E_k)/w_k), f the reversible current function or sech²",
        source="shapes of Nicholson & Shain 1964; Bard & Faulkner (from memory)",
        sentence="Overlapping peaks were fitted together with shapes of diffusing or bound species on a straight background.",
    ),
    Method(
        name="reference electrodes",
        formula="E(to) = E + E°(from) − E°(to); E(RHE) = E(SHE) + (ln 10 RT/F) pH",
        source="secondary tables quoting Bard & Faulkner 2000",
        sentence="Potentials were converted between reference electrodes with tabulated values at 25 °C and their temperature coefficients where known.",
    ),
    Method(
        name="half-wave potential of a pulse peak",
        formula="E½ = E_p ± ΔE/2 in the scan's direction (differential pulse); E_p (square wave)",
        source="Bard & Faulkner, Electrochemical Methods, 2nd ed., 2001 (from memory)",
        sentence="Half-wave potentials of pulse records are peak potentials corrected for half the pulse.",
    ),
    Method(
        name="growth of nuclei",
        formula="(i/i_m)² of instantaneous and progressive nucleation, with charging and background",
        source="Scharifker & Hills, Electrochim. Acta 1983, 28, 879 (page from memory)",
        sentence="Deposition transients were compared with instantaneous and progressive nucleation, a charging and a background current being fitted as well.",
    ),
)
