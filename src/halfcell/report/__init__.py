"""Holds results and draws them: computes nothing."""
