"""Differences between groups of electrodes, read from the table of findings."""
