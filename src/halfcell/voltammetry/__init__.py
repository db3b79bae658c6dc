"""Voltammetry: functions of arrays in SI units, each with a frozen result."""
