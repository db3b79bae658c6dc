"""From image files to findings: agreement with the truth, adjustments replayed, nothing lost silently."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from halfcell.pipeline.methods import METHODS
from halfcell.report.figures import DRAWINGS
from halfcell.report.parts.made import field_sentence
from halfcell.vocabulary import TERMS


def _one(analysis, name: str, electrode: str, condition: str = ""):
    (found,) = analysis.findings.named(name, electrode=electrode, condition=condition)
    return found


def test_findings_agree_with_the_truth(folder, analyzed, truths) -> None:
    analysis = analyzed(folder)
    inside = [
        m.diameter[(m.x > 25) & (m.x < 395) & (m.y > 25) & (m.y < 295)] * 2
        for name, m in truths.items()
        if name.startswith("Ni-1")
    ]
    mean = np.concatenate(inside).mean()
    diameter = _one(analysis, "particle_diameter", "Ni-1")
    assert diameter.unit == "nm"
    assert diameter.value == pytest.approx(mean, rel=0.02)
    assert 0 < diameter.standard_uncertainty < 2
    density = _one(analysis, "particle_density", "Ni-1")
    assert density.value == pytest.approx(90, abs=3.5 * density.standard_uncertainty)
    assert _one(analysis, "evenness", "Ni-1").text == "even"
    assert _one(analysis, "evenness", "Ni-2").text == "random"
    coverage = _one(analysis, "coverage", "Ni-1").value / 100
    assert coverage == pytest.approx(
        density.value * 1e12 * np.pi / 4 * np.mean(np.concatenate(inside) ** 2) * 1e-18, rel=0.1
    )
    metal = _one(analysis, "metal_mass_per_area", "Ni-1")
    volume = np.pi / 12 * np.mean(np.concatenate(inside) ** 3) * 1e-27 * density.value * 1e12
    assert metal.value == pytest.approx(volume * 8908 * 1e5, rel=0.12)
    assert not [p for p in analysis.problems if p.severity == "error"]


def test_bare_substrate_and_charge(folder, analyzed) -> None:
    analysis = analyzed(folder)
    assert _one(analysis, "particles_counted", "bare").value == 0
    assert _one(analysis, "coverage", "bare").value == pytest.approx(0, abs=0.01)
    # 2 mC · 58.693 g/mol/(2 F)/0.0707 cm² = 8.604 µg/cm², by hand.
    assert _one(analysis, "deposited_mass_per_area", "Ni-1").value == pytest.approx(8.604, rel=1e-3)


def test_every_finding_has_its_term_and_method(folder, analyzed) -> None:
    analysis = analyzed(folder)
    keys = [f.key for f in analysis.findings]
    assert len(keys) == len(set(keys))
    for f in analysis.findings:
        assert f.name in TERMS
        assert f.method in METHODS
        assert np.isfinite(f.standard_uncertainty) or f.text or f.notes, f.key


def test_exhibits_are_small_and_complete(folder, analyzed) -> None:
    analysis = analyzed(folder)
    kinds = [e.kind for e in analysis.exhibits]
    assert kinds.count("micrograph") == 4
    assert kinds.count("sizes") == 2
    assert kinds.count("evenness") == kinds.count("density map") == 3
    shown = analysis.shown("Made", "micrograph")[1]
    assert shown.data["pixels"].dtype == np.uint8
    assert shown.data["bar_rows"] == 40
    assert shown.data["rows"] == 320


ADJUST = """\
[[adjustment]]
kind = "mask region"
file = "images/Ni-2_a.png"
polygon = [[-1, -1], [210, -1], [210, 321], [-1, 321]]
who = "A. Student"

[[adjustment]]
kind = "exclude particle"
file = "images/Ni-1_a.png"
x = -50.0
y = -50.0
"""


def test_adjustments_are_replayed_and_their_effect_is_told(folder, analyzed) -> None:
    before = analyzed(folder)
    (folder / "adjustments.toml").write_text(ADJUST, "utf-8")
    after, again = analyzed(folder), analyzed(folder)
    old, new = _one(before, "particles_counted", "Ni-2").value, _one(after, "particles_counted", "Ni-2").value
    assert 0.3 * old < new < 0.7 * old
    density = _one(after, "particle_density", "Ni-2")
    assert density.value == pytest.approx(
        _one(before, "particle_density", "Ni-2").value, abs=4 * density.standard_uncertainty
    )
    effect = _one(after, "adjustment_effect", "Ni-2", "particle_density")
    assert "1 decisions" in effect.notes[-1]
    assert effect.value == pytest.approx(
        (density.value - _one(before, "particle_density", "Ni-2").value)
        / _one(before, "particle_density", "Ni-2").standard_uncertainty
    )
    judged = next(e for e in after.shown("Made", "evenness") if "Ni-2_a" in e.key)
    assert (
        judged.data["n"]
        < 0.7 * next(e for e in before.shown("Made", "evenness") if "Ni-2_a" in e.key).data["n"]
    )
    assert judged.data["verdict"] == "random"
    said = [" ".join(_one(a, "evenness_ratio", "Ni-2").notes) for a in (before, after)]
    assert ["simulated patterns" in notes for notes in said] == [False, True]
    density_map = next(e for e in after.shown("Made", "density map") if "Ni-2_a" in e.key)
    assert np.isnan(density_map.data["density"]).mean() == pytest.approx(0.5, abs=0.05)
    picture = next(e for e in after.shown("Made", "micrograph") if "Ni-2_a" in e.key)
    assert len(picture.data["masks"]) == 1
    assert "50" in field_sentence(picture).split("% of it masked")[0][-6:]
    for shown in (density_map, picture):
        assert DRAWINGS[shown.kind](shown, {"nickel": "#0072B2"}).axes
    assert after.findings.json() == again.findings.json()
    assert any("no outline is around" in p.what for p in after.problems)


def test_scale_from_the_bar(folder, analyzed) -> None:
    runs = (
        (folder / "runs.csv")
        .read_text("utf-8")
        .replace("Ni-1_b.png,Ni-1,micrograph,2 nm", "Ni-1_b.png,Ni-1,micrograph,")
    )
    (folder / "runs.csv").write_text(runs, "utf-8")
    without = analyzed(folder)
    assert any("scale is not known" in p.what for p in without.problems)
    (folder / "adjustments.toml").write_text(
        '[[adjustment]]\nkind = "scale bar"\nfile = "images/Ni-1_b.png"\nlength = "100 nm"\n', "utf-8"
    )
    given = analyzed(folder)
    shown = next(e for e in given.shown("Made", "micrograph") if "Ni-1_b" in e.key)
    assert shown.data["nm_per_pixel"] == pytest.approx(2.0, rel=0.02)


def test_part_and_figures_are_written(folder, analyzed) -> None:
    from halfcell.report.parts.made import part

    analysis = analyzed(folder)
    written = part(analysis)
    titles = [s.title for s in written.sections]
    assert titles[:5] == ["In short", "Electrode by electrode", "Sizes", "Surface", "Arrangement"]
    assert {"Micrographs", "Size distributions", "Arrangement of the particles"} <= set(titles)
    words = " ".join(b.text for b in written.sections[0].blocks)
    assert "evenly spread" in words
    assert "no particle was found on bare" in words
    detail = written.sections[1]
    assert detail.folded
    assert "On Ni-1," in " ".join(b.text for b in detail.blocks)
    for kind in ("micrograph", "sizes", "evenness", "density map"):
        figure = DRAWINGS[kind](analysis.shown("Made", kind)[0], {"nickel": "#0072B2"})
        assert all(ax.get_xlabel() for ax in figure.axes if ax.get_label() != "<colorbar>")


def test_command_line(folder, tmp_path, capsys, monkeypatch) -> None:
    from halfcell.cli.micrographs import command

    monkeypatch.setenv("HALFCELL_CACHE", str(tmp_path / "cache"))
    command(folder, particles=tmp_path / "p.csv", outlines=tmp_path / "fields", by_field=True, cores=1)
    out = capsys.readouterr().out
    assert "Ni-1: Ni-1_a.png:" in out
    assert "on each µm², covering" in " ".join(out.split())
    assert "Ni-1" in out
    assert "particles written" in out
    rows = (tmp_path / "p.csv").read_text("utf-8").splitlines()
    assert rows[0].startswith("file,electrode,x / px")
    assert len(rows) > 50
    assert len(list((tmp_path / "fields").glob("*.svg"))) == 4


def test_doubtful_outlines_are_said_at_every_number(folder, analyzed) -> None:
    """Irregular bright fragments instead of round particles: numbers come with the doubt, not silently."""
    rng = np.random.default_rng(3)
    image = np.full((320, 420), 70.0)
    v, u = np.mgrid[0:320, 0:420]
    for x, y in rng.uniform(25, 295, (36, 2)) * [1.3, 1.0]:
        turn, a, b = rng.uniform(0, np.pi), rng.uniform(9, 12), rng.uniform(4.5, 6)
        p, q = (
            (u - x) * np.cos(turn) + (v - y) * np.sin(turn),
            (v - y) * np.cos(turn) - (u - x) * np.sin(turn),
        )
        image[(p / a) ** 2 + (q / b) ** 2 < 1] = 190
    noisy = np.clip(image + rng.normal(0, 4, image.shape), 0, 255).astype(np.uint8)
    Image.fromarray(noisy).save(folder / "images" / "Ni-2_a.png")
    analysis = analyzed(folder)
    assert any("not round" in p.what and "Look at the outlines" in p.what for p in analysis.problems)
    for name in ("particle_density", "coverage", "particles_counted"):
        assert any("in doubt (Ni-2_a.png)" in note for note in _one(analysis, name, "Ni-2").notes), name
    assert not any("in doubt" in note for note in _one(analysis, "coverage", "Ni-1").notes)
