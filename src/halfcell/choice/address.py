"""The addresses of the findings that comparing and choosing make, so that every number can be traced."""

from __future__ import annotations


def subject(finding: str, condition: str = "") -> str:
    """What a group-level finding is about: "false_concentration, oxygen"."""
    return f"{finding}, {condition}" if condition else finding


def against(first: str, second: str) -> str:
    """Two groups, as the group of a finding about both: "Ni − Ru"."""
    return f"{first} − {second}"


def address(name: str, group: str = "", condition: str = "") -> str:
    """The key of a finding about a group or a pair of groups."""
    return " | ".join(part for part in (name, group, condition) if part)
