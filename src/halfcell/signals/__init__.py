"""Arrays in, results out, no chemistry: segments, noise, smoothing, baselines, and records with known truth."""
