"""``python -m halfcell``."""

from __future__ import annotations

from halfcell.cli import main

main()
