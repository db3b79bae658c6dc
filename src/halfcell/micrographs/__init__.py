"""Particles on a surface: detection, sizes, evenness."""
