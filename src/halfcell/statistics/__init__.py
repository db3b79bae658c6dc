"""Arrays in, results out: regression, intervals, ratios, contrasts, resampling."""
