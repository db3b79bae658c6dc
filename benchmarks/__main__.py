"""``python -m benchmarks`` lists the benchmarks; ``python -m benchmarks NAME`` runs one."""

from __future__ import annotations

import difflib
import importlib
import pkgutil
import sys
from types import ModuleType

import benchmarks


def names() -> list[str]:
    """Modules of this package that hold a benchmark."""
    return sorted(m.name for m in pkgutil.iter_modules(benchmarks.__path__) if not m.name.startswith("_"))


def module(name: str) -> ModuleType:
    """The module of a benchmark."""
    return importlib.import_module(f"benchmarks.{name}")


def main(arguments: list[str]) -> int:
    known = names()
    if not arguments:
        for name in known:
            what = (module(name).__doc__ or "").strip().splitlines()
            print(f"{name:12}  {what[0] if what else ''}")
        return 0
    if len(arguments) > 1 or arguments[0] not in known:
        near = difflib.get_close_matches(arguments[0], known, n=1)
        hint = f" Did you mean {near[0]!r}?" if near else ""
        print(
            f"There is no benchmark {' '.join(arguments)!r}; there are: {', '.join(known)}.{hint}",
            file=sys.stderr,
        )
        return 2
    result = module(arguments[0]).run()
    print(result.table())
    print(result.last_line())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
