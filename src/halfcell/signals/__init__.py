"""Arrays in, arrays out, no chemistry: segments, baselines, noise, steps."""
