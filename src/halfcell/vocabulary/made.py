"""Findings about what is on the surface."""

from __future__ import annotations

from halfcell.vocabulary.term import Term

MADE: tuple[Term, ...] = (
    Term(name="particle_diameter", label="Particle diameter", meaning="Mean by number of the diameters of discs of equal area, corrected for the particles that the frame cuts.", unit="nm", si="m", place="Made"),
    Term(name="particle_diameter_median", label="Median particle diameter", meaning="Median by number of the diameters of discs of equal area.", unit="nm", si="m", place="Made"),
    Term(name="volume_mean_diameter", label="Volume-weighted diameter D[4,3]", meaning="Mean diameter by volume (ISO 9276-2): what the metal's mass is like, rather than what the count is like.", unit="nm", si="m", place="Made"),
    Term(name="size_spread", label="Relative spread of size", meaning="Standard deviation of the diameters over their mean.", unit="1", si="1", place="Made", better="lower"),
    Term(name="size_spread_absolute", label="Spread of size", meaning="Standard deviation of the diameters.", unit="nm", si="m", place="Made", better="lower"),
    Term(name="size_interquartile", label="Interquartile range of size", meaning="Diameter below which three quarters of the particles lie, less that for one quarter.", unit="nm", si="m", place="Made", better="lower"),
    Term(name="size_populations", label="Populations of size", meaning="Number of log-normal populations that the sizes call for (1 or 2).", unit="1", si="1", place="Made"),
    Term(name="particle_density", label="Particles per area", meaning="Number of particles whose middle lies in the fields, over their area.", unit="1/um^2", si="1/m^2", place="Made"),
    Term(name="coverage", label="Coverage", meaning="Share of the surface that lies under metal.", unit="percent", si="1", place="Made"),
    Term(name="metal_mass_per_area", label="Metal per area (particles)", meaning="Mass of metal per geometric area, from the particles and agglomerates seen, the stated shape and the metal's density.", unit="ug/cm^2", si="kg/m^2", place="Made", better="lower"),
    Term(name="deposited_mass_per_area", label="Metal per area (charge)", meaning="Mass of metal per geometric area by Faraday's law from the charge passed to deposit it.", unit="ug/cm^2", si="kg/m^2", place="Made"),
    Term(name="metal_area_ratio", label="Metal area per geometric area", meaning="Exposed area of the particles of the stated shape, and of the agglomerates, over the geometric area.", unit="1", si="1", place="Made"),
    Term(name="particle_gap", label="Gap between particles", meaning="Median distance from a particle's outline to the nearest other one.", unit="nm", si="m", place="Made"),
    Term(name="evenness_ratio", label="Evenness ratio", meaning="Mean nearest-neighbour distance over that of points at random (Clark and Evans, with Donnelly's edge terms, or simulated ones where part of a field is masked): 1 random, above even, below clustered; read it beside the ratio of the same particles at random.", unit="1", si="1", place="Made", better="higher"),
    Term(name="evenness", label="Evenness", meaning="Whether the particles are even, random or clustered at the study's confidence, against random patterns of the same particles.", unit="1", si="1", place="Made", word=True, words=("even", "random", "clustered")),
    Term(name="quadrat_dispersion", label="Quadrat dispersion", meaning="Variance over mean of the counts in equal rectangles: about 1 at random, above for clusters.", unit="1", si="1", place="Made", better="lower"),
    Term(name="particles_counted", label="Particles counted", meaning="Number of particles that belong to the fields looked at.", unit="1", si="1", place="Made", better="higher"),
    Term(name="particles_needed", label="Particles needed", meaning="Number of particles for the mean diameter to be within 5 percent at the study's confidence.", unit="1", si="1", place="Made", better="lower"),
    Term(name="agglomerates_counted", label="Agglomerates", meaning="Number of irregular bright regions that are no single particles, and of groups of three or more particles in contact, in the fields looked at.", unit="1", si="1", place="Made", better="lower"),
    Term(name="agglomerated", label="Share in agglomerates", meaning="Share of the metal's area that lies in irregular clumps that are no single particles.", unit="percent", si="1", place="Made", better="lower"),
    Term(name="in_contact", label="Share in contact", meaning="Share of the particles that touch another one.", unit="percent", si="1", place="Made", better="lower"),
    Term(name="diffusion_overlap", label="Diffusion regime", meaning="How the diffusion layers of the particles meet at the scan rate or time used: planar particles, isolated, partly overlapping or fully overlapping (then the surface behaves as one plane).", unit="1", si="1", place="Made", word=True),
    Term(name="variance_share", label="Share of the variance of size", meaning="Share of the variance of diameters that lies between electrodes, between fields of an electrode, or within a field.", unit="percent", si="1", place="Made"),
    Term(name="adjustment_effect", label="Effect of adjustments", meaning="Change of a result by what a person decided by hand, over its uncertainty without.", unit="1", si="1", place="Made"),
)  # fmt: skip
