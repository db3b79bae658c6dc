"""Published sets of values that several tests use."""

from __future__ import annotations

# R's data set PlantGrowth (Dobson 1983, An Introduction to Statistical Modelling): values from memory,
# confirmed by R's published results for them.
CTRL = (4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14)
TRT1 = (4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69)
TRT2 = (6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26)
PLANTS = (CTRL, TRT1, TRT2)

# NIST/SEMATECH e-Handbook 7.4.7.1.
HANDBOOK = (
    (6.9, 5.4, 5.8, 4.6, 4.0),
    (8.3, 6.8, 7.8, 9.2, 6.5),
    (8.0, 10.5, 8.1, 6.9, 9.3),
    (5.8, 3.8, 6.1, 5.6, 6.2),
)

# R's data set sleep (Cushny & Peebles 1905).
SLEEP = (
    (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0),
    (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4),
)
