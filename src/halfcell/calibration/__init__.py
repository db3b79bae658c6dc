"""Calibration, limits of detection, unknowns."""
