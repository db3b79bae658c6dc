"""``python -m halfcell``."""

from __future__ import annotations

import sys

from halfcell.cli import main

sys.exit(main())
