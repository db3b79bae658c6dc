from __future__ import annotations

from pathlib import Path

from halfcell.readers import preview
from halfcell.study.layouts import families


def test_files_of_one_layout_stand_together_and_the_unread_first(tmp_path: Path) -> None:
    rows = [(i, 0.01 * i, 1e-6 * i) for i in range(40)]
    texts = {
        "a.csv": "t/s,E/V,i 50 /A\n" + "".join(f"{t},{e},{i}\n" for t, e, i in rows),
        "b.csv": "by hand\n\nt/s,E/V,i 100 /A\n" + "".join(f"{t},{e},{i}\n" for t, e, i in rows[5:]),
        "c.csv": "t/s;E/V;i/A\n" + "".join(f"{t};{e};{i}\n" for t, e, i in rows),
        "d.csv": "t;E;i\n" + "".join(f"{t};{e};{i}\n" for t, e, i in rows),
        "e.csv": "".join(f"{7 * t};{e * 900};{i * 3e6 + 2};{t}\n" for t, e, i in rows),
    }
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    found = families([preview(tmp_path / name, name=f"data/{name}") for name in texts])
    assert [(f.state, f.files) for f in found] == [
        ("problem", ("data/e.csv",)),
        ("doubt", ("data/d.csv",)),
        ("told", ("data/a.csv", "data/b.csv")),
        ("told", ("data/c.csv",)),
    ]
