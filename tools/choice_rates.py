"""Error rates, power and calibration of comparison and choice, by simulation with known truth.

    python tools/choice_rates.py            prints the tables
    python tools/choice_rates.py --write    also puts them into docs/choosing.md

Seeds are fixed: the tables come out the same again. Takes some minutes on one core.
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy import special

from halfcell.choice.choose import choose
from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.choice.draws import draw
from halfcell.choice.estimates import Column, Estimate, from_samples
from halfcell.choice.ranking import stand
from halfcell.comparison.samples import Sample
from halfcell.finding import Finding, Findings
from halfcell.results import Measured, read_only
from halfcell.statistics.equivalence import equivalence
from halfcell.statistics.resampling import bootstrap_ratio
from halfcell.statistics.tukey import range_quantile
from halfcell.statistics.welch_size import family_alpha

DOCS = Path(__file__).parent.parent / "docs" / "choosing.md"
BEGIN, END = "<!-- rates: begin -->", "<!-- rates: end -->"


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    lines = [f"| {' | '.join(head)} |", f"| {' | '.join('---' for _ in head)} |"]
    return "\n".join([*lines, *(f"| {' | '.join(map(str, row))} |" for row in rows)])


class Tested:
    """Chances that each method claims each pair, over many studies at once."""

    def __init__(
        self, n: tuple[int, ...], sd: Sequence[float], shift: Sequence[float], count: int, seed: int
    ) -> None:
        rng = np.random.default_rng(seed)
        k, size = len(n), np.array(n)
        draws = [rng.normal(m, s, (count, c)) for m, s, c in zip(shift, sd, n, strict=True)]
        mean, part = (
            np.array([x.mean(1) for x in draws]),
            np.array([x.var(1, ddof=1) / x.shape[1] for x in draws]),
        )
        total = int(size.sum())
        pooled = (part * (size * (size - 1))[:, None]).sum(0) / (total - k)
        tukey = range_quantile(0.95, k, float(total - k)) / np.sqrt(2)
        grid = np.concatenate([np.linspace(1, 6, 40), np.linspace(6.2, 40, 40)])
        howell = np.array([range_quantile(0.95, k, float(d)) for d in grid]) / np.sqrt(2)
        alpha, m = family_alpha(0.05, n), k * (k - 1) / 2
        claims: dict[str, list[np.ndarray]] = {
            "default": [],
            "Games–Howell": [],
            "Tukey": [],
            "Welch, Bonferroni": [],
        }
        for i, j in itertools.combinations(range(k), 2):
            gap, v = np.abs(mean[i] - mean[j]), part[i] + part[j]
            df = v**2 / (part[i] ** 2 / (n[i] - 1) + part[j] ** 2 / (n[j] - 1))
            t = gap / np.sqrt(v)
            p = 2 * special.stdtr(df, -t)
            claims["default"].append(p <= alpha)
            claims["Welch, Bonferroni"].append(p <= 0.05 / m)
            claims["Games–Howell"].append(t > np.interp(df, grid, howell))
            claims["Tukey"].append(gap / np.sqrt(pooled * (1 / n[i] + 1 / n[j])) > tukey)
        self.claims = {name: np.array(c) for name, c in claims.items()}

    def any(self) -> list[str]:
        return [f"{100 * c.any(axis=0).mean():.1f}" for c in self.claims.values()]

    def last(self) -> list[str]:
        """Chance to see the first against the last group."""
        return [f"{100 * c[-1].mean():.0f}" for c in self.claims.values()]


def family_wise(count: int = 40_000) -> str:
    rows = []
    for k in (2, 4, 6):
        for base in (3, 4, 6):
            for name, sd in (
                ("equal", [1.0] * k),
                ("one coarse", [1.0] * (k - 1) + [4.0]),
                ("one precise", [4.0] * (k - 1) + [1.0]),
                ("ladder", list(np.geomspace(1, 8, k))),
            ):
                rows.append([k, base, name, *Tested((base,) * k, sd, [0.0] * k, count, 1).any()])
        ends = (3,) * (k - 1) + (6,)
        rows.append(
            [
                k,
                "3 … 3, 6",
                "few are coarse",
                *Tested(ends, [4.0] * (k - 1) + [1.0], [0.0] * k, count, 1).any(),
            ]
        )
    return "Chance of any false difference, % (nominal 5):\n\n" + table(
        ["groups", "electrodes", "scatter", "default", "Games–Howell", "Tukey", "Welch, Bonferroni"], rows
    )


def power(count: int = 20_000) -> str:
    rows = [
        [base, f"{d:g}", *Tested((base,) * 4, [1.0] * 4, [0.0, 0.0, 0.0, d], count, 2).last()]
        for base, d in itertools.product((3, 4, 5, 6), (3.0, 5.0, 8.0))
    ]
    return (
        "Chance to see a true difference (in standard deviations) of one pair of four groups that scatter alike, %:\n\n"
        + table(
            ["electrodes", "difference / s", "default", "Games–Howell", "Tukey", "Welch, Bonferroni"], rows
        )
    )


def same(count: int = 6000) -> str:
    rng, rows = np.random.default_rng(3), []
    for n, sd in (((3, 3), (1, 1)), ((3, 3), (1, 4)), ((3, 6), (2, 1)), ((4, 4), (1, 1)), ((6, 6), (1, 3))):
        wrong, alpha = 0, family_alpha(0.10, n) / 2
        a, b = rng.normal(3.0, sd[0], (count, n[0])), rng.normal(0, sd[1], (count, n[1]))
        parts = a.var(1, ddof=1) / n[0], b.var(1, ddof=1) / n[1]
        df = (parts[0] + parts[1]) ** 2 / (parts[0] ** 2 / (n[0] - 1) + parts[1] ** 2 / (n[1] - 1))
        for x, y, u, v in zip(a.mean(1), b.mean(1), np.sqrt(parts[0] + parts[1]), df, strict=True):
            wrong += equivalence(Measured(value=x - y, u=u, df=v), 3.0, alpha).same
        rows.append([f"{n[0]}, {n[1]}", f"{sd[0]} : {sd[1]}", f"{100 * wrong / count:.1f}"])
    return (
        "Chance to call two groups the same when they differ by just the margin, % (at most 5):\n\n"
        + table(["electrodes", "scatter", "called the same"], rows)
    )


def ratio_coverage(count: int = 400) -> str:
    rng, rows = np.random.default_rng(4), []
    for n in (3, 4, 5, 6, 8, 12):
        inside = sum(
            3.0
            in bootstrap_ratio(
                np.exp(rng.normal(np.log(3), 0.4, n)), np.exp(rng.normal(0, 0.4, n)), rng, count=600
            ).interval
            for _ in range(count)
        )
        rows.append([n, f"{100 * inside / count:.0f}"])
    return "Coverage of the bootstrap interval of a ratio of log-normal limits, % (nominal 95):\n\n" + table(
        ["electrodes", "coverage"], rows
    )


WANTS = (
    Want(finding="a", aim="maximise", low=0, high=100),
    Want(finding="b", aim="minimise", low=0, high=100),
)


def _truth(mu: np.ndarray) -> np.ndarray:
    best: np.ndarray = np.sqrt(np.clip(mu[:, 0] / 100, 0, 1) * np.clip(1 - mu[:, 1] / 100, 0, 1))
    return best


def _values(rng: np.random.Generator, mu: np.ndarray, n: int, unlike: float) -> np.ndarray:
    """(candidates, electrodes, 2) values: scatter 4 times a log-normal factor, correlation 0.6."""
    k = len(mu)
    z = rng.standard_normal((k, n, 2))
    z[..., 1] = 0.6 * z[..., 0] + 0.8 * z[..., 1]
    out: np.ndarray = mu[:, None, :] + 4.0 * np.exp(unlike * rng.standard_normal((k, 1, 2))) * z
    return out


def _estimates(values: np.ndarray) -> list[list[Estimate]]:
    def sample(g: int, i: int, v: float) -> Sample:
        return Sample(
            electrode=f"{g}-{i}",
            value=float(v),
            u=float("nan"),
            df=float("inf"),
            parts=read_only([v]),
            findings=(),
            recordings=(),
        )

    columns = [Column(finding="a"), Column(finding="b")]
    return [
        [
            from_samples(str(g), c, tuple(sample(g, i, v) for i, v in enumerate(x[:, j])))
            for j, c in enumerate(columns)
        ]
        for g, x in enumerate(values)
    ]


def calibration(each: int = 240) -> str:
    rows = []
    for unlike in (0.0, 0.3, 0.5, 0.7):
        said, right = [], []
        for n, apart in itertools.product((3, 4, 6), (0.5, 1.0, 2.0, 4.0, 8.0)):
            rng = np.random.default_rng([int(10 * unlike), n, int(10 * apart)])
            for _ in range(each):
                mu = 50 + apart * 4.0 / np.sqrt(n) * rng.standard_normal((4, 2))
                drawn = draw(_estimates(_values(rng, mu, n, unlike)), 500, int(rng.integers(1 << 30)))
                best = stand(drawn, WANTS, (0, 1), ()).winner.mean(axis=0)
                said.append(best.max())
                right.append(best.argmax() == _truth(mu).argmax())
        p, hit = np.array(said), np.array(right)
        for low, high in ((0.4, 0.6), (0.6, 0.75), (0.75, 0.85), (0.85, 0.95), (0.95, 1.01)):
            here = (p >= low) & (p < high)
            rows.append(
                [f"{unlike:g}", here.sum(), f"{100 * p[here].mean():.1f}", f"{100 * hit[here].mean():.1f}"]
            )
    return (
        f"Probability of being best, said and right, over {15 * each} studies a row block (four candidates, 3, 4 or 6 electrodes, true means apart by 0.5 to 8 standard errors; “unlike” is the standard deviation of ln s between candidates):\n\n"
        + table(["unlike", "studies", "said, %", "right, %"], rows)
    )


def verdicts(count: int = 600) -> str:
    """Whole choices: eliminations, passes, real differences and proven leaders, against the truth."""
    tally: dict[str, list[int]] = {
        name: [0, 0] for name in ("eliminated", "passed", "difference called real", "leader called proven")
    }
    undecided = total = 0
    for seed in range(count):
        rng = np.random.default_rng([7, seed])
        n = int(rng.integers(3, 7))
        mu = np.column_stack([rng.uniform(20, 80, 4), rng.uniform(20, 80, 4)])
        limit = rng.uniform(5, 35, 4)
        values = _values(rng, mu, n, 0.3)
        third = limit[:, None] + 4.0 * rng.standard_normal((4, n))
        rows, attributes = [], {}
        for g in range(4):
            for i in range(n):
                name = f"{g}-{i}"
                attributes[name] = {"material": f"m{g}"}
                for finding, v in (("a", values[g, i, 0]), ("b", values[g, i, 1]), ("c", third[g, i])):
                    rows.append(
                        Finding(
                            name=finding,
                            value=float(v),
                            electrode=name,
                            group=f"m{g}",
                            method="m",
                            source="s",
                        )
                    )
        choice = choose(
            Findings(tuple(rows), attributes),
            Criteria(musts=(Must(finding="c", at_most=20.0),), wants=WANTS),
            count=1000,
            seed=seed,
        )
        score = {f"m{g}": s for g, s in enumerate(_truth(mu))}
        meets = {f"m{g}": limit[g] <= 20 for g in range(4)}
        for r in choice.musts:
            total += 1
            undecided += r.verdict == "undecided"
            for verdict, wrong in (("failed", meets[r.candidate]), ("passed", not meets[r.candidate])):
                if r.verdict == verdict:
                    _count(tally["eliminated" if verdict == "failed" else "passed"], wrong=wrong)
        for v in choice.versus:
            if v.real:
                _count(tally["difference called real"], wrong=score[v.leader] <= score[v.other])
        if choice.proven:
            best = max((c for c in score if meets[c]), key=lambda c: score[c], default="")
            _count(tally["leader called proven"], wrong=choice.leader != best)
    rows = [[name, n, f"{100 * bad / max(n, 1):.1f}"] for name, (n, bad) in tally.items()]
    return (
        f"Claims of {count} whole choices at 95 % (four candidates, 3–6 electrodes, one must, two wants; {100 * undecided / total:.0f} % of the musts undecided):\n\n"
        + table(["claim", "made", "wrong, %"], rows)
    )


def _count(entry: list[int], *, wrong: bool) -> None:
    entry[0] += 1
    entry[1] += int(wrong)


def main() -> None:
    parts = []
    for part in (family_wise, power, same, ratio_coverage, calibration, verdicts):
        parts.append(part())
        print(parts[-1], end="\n\n", flush=True)
    if "--write" in sys.argv:
        page = DOCS.read_text("utf-8")
        start, end = page.index(BEGIN) + len(BEGIN), page.index(END)
        DOCS.write_text(page[:start] + "\n\n" + "\n\n".join(parts) + "\n\n" + page[end:], "utf-8")


if __name__ == "__main__":
    main()
