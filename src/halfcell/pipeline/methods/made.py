"""Methods behind the findings about the surface."""

from __future__ import annotations

from halfcell.pipeline.methods.method import Method

MADE: tuple[Method, ...] = (
    Method(
        name="outlines at half height",
        formula="d = 2(A/π)^½; edge where the brightness is half way between the particle's plateau and the substrate on that side; shift by blur σ²/(2r) taken off; weight 1/P, P = (Zx − Fx)(Zy − Fy)/(Zx Zy); uncertainty of the mean diameter from the scatter between fields where it exceeds that between particles",
        source="common practice for the half-height edge, no source; frame correction of Miles (1974) and Lantuéjoul (1980) as in ISO 13322-1 (from memory); cluster-robust standard error (common practice, no source)",
        sentence="Particles in the micrographs were found by a multi-scale difference of Gaussians and outlined where the brightness falls to half way between the particle and the substrate on that side, with the shift by blur corrected; those hardly larger than the blur were measured by fitting blurred discs; particles cut by the frame were left out of the sizes and the others weighted by the inverse of their chance of being seen whole. The uncertainty of the mean diameter took the scatter between fields into account.",
    ),
    Method(
        name="regions above half height",
        formula="regions above the slow background by half of the bright level, not accounted for by particles; agglomerate where solidity < 0.88 or elongation > 1.8",
        source="common practice, no source",
        sentence="Bright regions that single particles did not account for were counted as agglomerates.",
    ),
    Method(
        name="size statistics",
        formula="D[p,q] = (Σw d^p/Σw d^q)^(1/(p−q)); s² = Σw(d − mean)²/Σw; D[4,3] = exp(m + 7s_ln²/2) of a log-normal distribution where skewness and kurtosis of ln d are within 2 standard errors of the normal's, uncertainty of the ratio else by the jackknife of its logarithm, with half the difference of the two; particles are taken as independent, of all fields together",
        source="ISO 9276-2 for the moment means; relations of Hatch and Choate (1929) for the log-normal distribution (from memory)",
        sentence="Sizes were described by number and by volume (the volume-weighted mean of the log-normal model where the diameters follow one, else of the moments); their uncertainties take the particles as independent, so that differences between fields are not in them.",
    ),
    Method(
        name="size populations",
        formula="two log-normal populations where BIC falls by more than 10",
        source="Kass & Raftery 1995, J. Am. Stat. Assoc. 90, 773 (from memory)",
        sentence="Two populations of size were told only where the Bayesian information criterion called for them very strongly.",
    ),
    Method(
        name="number needed",
        formula="n = (k s/(0.05 mean))²; for D[4,3] (k/0.05)² times σ²(1 + 24.5σ²) by the log-normal model, e^(16σ²) + e^(9σ²) − 2e^(12σ²) by the moments, σ the standard deviation of ln d",
        source="the question is that of ISO 13322-1; formula of the normal interval of a mean (common practice, no source); for D[4,3] by the model that of Masuda and Iinoya as in ISO 13322-1 (from memory)",
        sentence="The number of particles needed for the mean to be within five percent was computed from the spread found.",
    ),
    Method(
        name="counting frame",
        formula="N/A with the particles whose middle lies in the frame; u² = φN/A², φ = max(1, Pearson's χ²/df of the fields)",
        source="associated-point rule of stereology; quasi-Poisson of McCullagh & Nelder 1989 (both from memory)",
        sentence="Particles were counted in the field in which their middle lies, and counts that scattered between fields more than counting does were given the larger uncertainty.",
    ),
    Method(
        name="coverage and metal",
        formula="coverage = Σ share·πd²/4 / A; volume = Σ share·(π/6 or π/12)d³; metal area = Σ share·(π or π/2)d²; mass = volume·density; an agglomerate of area A adds between A·Σvolume/Σprojected area of the single particles (one layer) and A·D/3 with D = 2(A/π)^½ (a dome), its middle with u = (high − low)/12^½",
        source="geometry of the stated shape; rectangular distribution of GUM 4.3.7 between the bounds of agglomerates, which are common practice, no source",
        sentence="Coverage, metal volume, metal area and mass per area were summed over the particles for the stated shape; agglomerates were taken as between one layer of such particles and a dome on their outline.",
    ),
    Method(
        name="charge to mass",
        formula="m = η Q M/(n F)",
        source="Faraday's law; constants of CODATA 2018",
        sentence="The mass deposited was computed from the charge passed by Faraday's law.",
    ),
    Method(
        name="nearest neighbours",
        formula="R = mean nearest distance / [½(A/N)^½ + (0.0514 + 0.0412/N^½)P/N]; where part of a field is masked the mean of 200 simulated random patterns in what is left takes the place of the bracket",
        source="Clark & Evans 1954, Ecology 35, 445; Donnelly 1978",
        sentence="Evenness was expressed by the ratio of Clark and Evans with Donnelly's correction for the frame, or simulated random patterns where part of it was masked.",
    ),
    Method(
        name="arrangement against hard discs at random",
        formula="p = 2 min(p of the mean nearest distance, p of the worst deviation of L(r)) among 199 random placements of the same discs without overlap",
        source="Ripley 1977, J. R. Stat. Soc. B 39, 172; Besag & Diggle 1977 (both from memory)",
        sentence="Whether particles are even, random or clustered was judged against random placements of the same particles without overlap, by nearest distances and by Ripley's L; particles in contact count as one.",
    ),
    Method(
        name="quadrats",
        formula="variance/mean of counts in equal rectangles",
        source="common practice, no source; significance from the same random placements",
        sentence="Counts in equal rectangles were compared with those of random placements.",
    ),
    Method(
        name="diffusion categories",
        formula="δ = (2Dt)^½, for a sweep (2DRT/(nFv))^½, against the particle's radius r and the half distance of centres d: δ < r planar; r ≤ δ < d − r isolated; up to 2·d partly overlapping; beyond fully overlapping",
        source="categories of Davies & Compton 2005, J. Electroanal. Chem. 585, 63 (from memory); the boundary at twice the half distance is common practice, no source",
        sentence="The thickness of the diffusion layer was compared with the particles' radius and gaps to say whether the surface should behave as one plane.",
    ),
    Method(
        name="nested variance",
        formula="σ²(electrode), σ²(field in electrode), σ²(particle in field) by the method of moments (unequal numbers)",
        source="Searle, Casella & McCulloch 1992, Variance Components (from memory)",
        sentence="The variance of size was divided between electrodes, fields and particles.",
    ),
    Method(
        name="replay of adjustments",
        formula="(with − without)/u(without)",
        source="definition",
        sentence="What a person decided by hand on the micrographs was replayed by position, and its effect on the results stated.",
    ),
)  # fmt: skip
