"""Voltammetry: is there a response, is it well defined, and what controls it. Arrays in, results out."""
