"""Reading a 200 MB text export, against pandas.read_csv on the same block of numbers.

halfcell also finds the encoding, the table, its columns and units, hashes the file and brings
the numbers into SI units; the reference is told where the numbers begin and only parses them.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from benchmarks import Result, best_of_pair

BYTES = 200_000_000
HEADER = 40
_SEED = 7

_PEAK = """
import re, resource, sys, threading, time
from halfcell.readers import read
small, large = sys.argv[1:]

def private():
    status = open("/proc/self/status", encoding="utf-8").read()
    return int(re.search(r"RssAnon:\\s+(\\d+) kB", status)[1]) * 1024

def resident():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024

def watch():
    while True:
        seen.append(private())
        time.sleep(0.001)

read(small)
seen, before = [private()], resident()
threading.Thread(target=watch, daemon=True).start()
recording = read(large)
arrays = [recording.time, recording.potential, recording.current, *recording.extra.values()]
print(max(seen) - seen[0], resident() - before, sum(a.nbytes for a in arrays if a is not None))
"""


def write(path: Path, size: int) -> int:
    """An invented export of about ``size`` bytes; the number of its rows."""
    rng = np.random.default_rng(_SEED)
    count = 20_000
    potential = 0.8 * np.abs(np.linspace(-1, 1, count)) - 0.2
    current = 1e-6 * np.tanh((potential - 0.2) / 0.05) + 1e-9 * rng.standard_normal(count)
    rows = [
        f"{k * 0.001:.4f}\t{p:.6f}\t{i:.7e}\n"
        for k, (p, i) in enumerate(zip(potential, current, strict=True))
    ]
    block = "".join(rows).encode()
    head = "".join(f"particular {k}: {k * 7 % 13}\n" for k in range(HEADER - 1)) + "t / s\tE / V\ti / A\n"
    times = max(1, round(size / len(block)))
    with path.open("wb") as out:
        out.write(head.encode())
        for _ in range(times):
            out.write(block)
    return times * count


def run(size: int = BYTES, times: int = 3) -> Result:
    """Throughput and the highest memory of both."""
    with tempfile.TemporaryDirectory() as folder:
        large, small = Path(folder) / "large.txt", Path(folder) / "small.txt"
        count = write(large, size)
        write(small, 1)
        megabytes = large.stat().st_size / 1e6
        memory = _memory(small, large)  # first: a new process begins with the highest memory of its parent
        import pandas as pd

        from halfcell.readers import read

        def reference() -> object:
            return pd.read_csv(large, sep="\t", header=None, skiprows=HEADER, dtype=np.float64)

        recording = read(large)
        frame = reference()
        assert len(recording.current) == count == len(frame)  # type: ignore[arg-type]
        np.testing.assert_array_equal(recording.current, frame[2])  # type: ignore[index]
        del recording, frame
        ours, theirs = best_of_pair(lambda: read(large), reference, times)
    return Result(
        name="read",
        halfcell=ours,
        reference=theirs,
        rows=(
            (f"{megabytes:.0f} MB, {count} rows", f"{ours:.2f} s", f"{theirs:.2f} s"),
            ("throughput", f"{megabytes / ours:.0f} MB/s", f"{megabytes / theirs:.0f} MB/s"),
            ("memory / arrays", memory[0], ""),
            ("with the file's pages", memory[1], ""),
        ),
        notes=("Asked for: at least 0.7 times the throughput, at most 3 times the memory of the arrays.",),
    )


def _memory(small: Path, large: Path) -> tuple[str, str]:
    """Highest memory while reading over the size of the arrays, in a process of its own.

    First the memory that the process needs for itself; then with the pages of the file that the parser
    looks at in place, which the system takes back when it wants them.
    """
    try:
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, str(small), str(large)],
            capture_output=True,
            text=True,
            check=True,
            timeout=120,
        )
    except (OSError, subprocess.SubprocessError):
        return "not measured here", ""
    *peaks, arrays = (int(v) for v in done.stdout.split())
    private, resident = (f"{p / arrays:.2f} ({p / 1e6:.0f} of {arrays / 1e6:.0f} MB)" for p in peaks)
    return private, resident
