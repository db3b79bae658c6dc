from __future__ import annotations

import io
import math
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from halfcell.cache import Cache, code_fingerprint, decode, encode, key_of, user_cache
from halfcell.results import Interval, Measured, read_only, same

RESULT = {
    "number": 0.1 + 0.2,
    "many": (1, -5, True, None, "µ", [1.5, math.nan, math.inf]),
    "measured": Measured(value=1.0, u=0.5, df=3.0, why="x"),
    "array": read_only(np.linspace(0, 1, 7)),
    "inner": {"f32": np.arange(6, dtype=np.float32).reshape(2, 3), "bool": np.array([True, False])},
    3: "a number for a key",
}


def test_everything_comes_back_the_same() -> None:
    back = decode(encode(RESULT))
    assert same(back, RESULT)
    assert back["inner"]["f32"].dtype == np.float32
    assert back["inner"]["bool"].dtype == np.bool_
    with pytest.raises(ValueError, match="read-only"):
        back["array"][0] = 1.0


def test_what_is_no_plain_data_is_refused() -> None:
    for bad in (object(), {1, 2}, lambda: None, Path("x"), b"bytes"):
        with pytest.raises(TypeError, match="cannot be kept"):
            encode(bad)


def test_nothing_in_an_entry_can_run_code(tmp_path: Path) -> None:
    good = encode(Measured(value=1.0))
    for name in (
        b"os:system",
        b"builtins:eval",
        b"halfcell.cache:user_cache",
        b"halfcell.errors:HalfcellError",
    ):
        assert b"halfcell.results:Measured" in good
        tree = good[8 : 8 + int.from_bytes(good[:8], "little")].replace(b"halfcell.results:Measured", name)
        with pytest.raises((ValueError, AttributeError)):
            decode(len(tree).to_bytes(8, "little") + tree)
    out = io.BytesIO()
    np.lib.format.write_array(out, np.array([{"a": 1}], dtype=object), allow_pickle=True)
    tree = b'{"a":0}'
    with pytest.raises(ValueError, match="allow_pickle"):
        decode(len(tree).to_bytes(8, "little") + tree + out.getvalue())


def test_keys_depend_on_every_part_and_on_type() -> None:
    parts = [
        ("a", 1),
        ("a", 1.0),
        ("a", "1"),
        ("a", True),
        ("a", [1]),
        ("a", (1,)),
        ("a1",),
        ("a", None),
        ("a", {"x": 1}),
        ("a", math.nan),
    ]
    assert len({key_of(*p) for p in parts}) == len(parts)
    assert key_of("a", {"x": 1.5}) == key_of("a", {"x": 1.5})


def test_put_and_get(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    key = key_of("one")
    assert cache.get(key) is None
    cache.put(key, RESULT)
    assert same(cache.get(key), RESULT)
    assert same(Cache(tmp_path).get(key), RESULT)


@pytest.mark.parametrize("damage", ["cut", "zeros", "empty", "flipped length", "other text"])
def test_a_damaged_entry_counts_as_absent(tmp_path: Path, damage: str) -> None:
    cache, key = Cache(tmp_path), key_of("one")
    cache.put(key, RESULT)
    (path,) = tmp_path.glob("*/*.npz")
    data = path.read_bytes()
    spoiled = {
        "cut": data[: len(data) // 2],
        "zeros": b"\0" * len(data),
        "empty": b"",
        "flipped length": b"\xff" * 8 + data[8:],
        "other text": b"hello" * 100,
    }[damage]
    path.write_bytes(spoiled)
    assert cache.get(key) is None
    assert not path.exists()
    cache.put(key, RESULT)
    assert same(cache.get(key), RESULT)


def test_a_cache_that_cannot_be_written_is_no_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    cache = Cache(tmp_path / "file")
    cache.put(key_of("one"), RESULT)
    assert cache.get(key_of("one")) is None
    Cache(None).put(key_of("one"), RESULT)
    assert Cache(None).get(key_of("one")) is None
    assert Cache(None).sweep() == 0


def test_sweep_removes_what_was_used_longest_ago(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    keys = [key_of("entry", i) for i in range(4)]
    for i, key in enumerate(keys):
        cache.put(key, read_only(np.zeros(1000)))
        (path,) = tmp_path.glob(f"*/{key}.npz")
        os.utime(path, (1000 + i, 1000 + i))
    size = path.stat().st_size
    assert cache.get(keys[0]) is not None  # used just now
    assert cache.sweep(largest=2 * size) == 2 * size
    assert [cache.get(k) is not None for k in keys] == [True, False, False, True]


def test_the_user_chooses_the_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HALFCELL_CACHE", str(tmp_path))
    assert user_cache().folder == tmp_path
    monkeypatch.setenv("HALFCELL_CACHE", "off")
    assert user_cache().folder is None
    monkeypatch.delenv("HALFCELL_CACHE")
    named = user_cache().folder
    assert named is not None
    assert named.parent.name == "halfcell" or named.parent.parent.name == "halfcell"


def test_the_fingerprint_is_that_of_the_code() -> None:
    assert len(code_fingerprint()) == 64
    assert code_fingerprint() == code_fingerprint()


WRITER = """
import sys
from pathlib import Path
import numpy as np
from halfcell.cache import Cache, key_of
cache, me = Cache(Path(sys.argv[1])), int(sys.argv[2])
print("ready", flush=True)
for turn in range(int(sys.argv[3])):
    for i in range(20):
        key = key_of("shared", i)
        found = cache.get(key)
        assert found is None or float(found[0]) == i and len(found) == 20000, (me, i)
        cache.put(key, np.full(20000, float(i)))
print("done", flush=True)
"""


def start(folder: Path, number: int, turns: int) -> subprocess.Popen[str]:
    words = [sys.executable, "-c", WRITER, str(folder), str(number), str(turns)]
    return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_two_processes_share_a_cache(tmp_path: Path) -> None:
    both = [start(tmp_path, n, 6) for n in (1, 2)]
    for process in both:
        out, err = process.communicate(timeout=120)
        assert process.returncode == 0, err
        assert out.split() == ["ready", "done"]
    cache = Cache(tmp_path)
    assert all(float(cache.get(key_of("shared", i))[7]) == i for i in range(20))
    assert not list(tmp_path.glob("*/*.part"))


def test_a_killed_writer_leaves_the_cache_valid(tmp_path: Path) -> None:
    for wait in (0.01, 0.03, 0.06):
        process = start(tmp_path, 1, 100_000)
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(wait)
        process.kill()
        process.wait()
        process.stdout.close()
        process.stderr.close()
        assert process.returncode in {-getattr(signal, "SIGKILL", 9), 1}
        cache = Cache(tmp_path)
        found = [cache.get(key_of("shared", i)) for i in range(20)]
        assert all(f is None or (float(f[0]) == i and len(f) == 20000) for i, f in enumerate(found))
        cache.put(key_of("shared", 0), np.full(20000, 0.0))
        assert cache.get(key_of("shared", 0)) is not None


def test_interval_is_kept_too(tmp_path: Path) -> None:
    interval = Interval(low=-math.inf, high=2.0, level=0.9, method="x")
    assert decode(encode(interval)) == interval
