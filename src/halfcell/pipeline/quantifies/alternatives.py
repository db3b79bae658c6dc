"""Other curves beside the straight line: the site-limited one, and the line with errors in x."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from halfcell.pipeline.quantifies.standardised import shared, widened, with_stock

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted


def alternatives(bench: Bench, f: Fitted, settings: dict[str, Any], about: dict[str, Any]) -> list[Finding]:
    """The site-limited curve where the response levels off, and the line with errors in x where they matter."""
    c, stock = f.calibration, shared(bench, f.kind)
    out: list[Finding] = []
    if c.saturation is not None:
        s = c.saturation
        curve = {
            "records": f.kind,
            "points": s.curve.n,
            "residual standard deviation / uA": s.curve.residual_sd * 1e6,
        }
        out += [
            bench.finding(
                "initial_sensitivity",
                with_stock(s.sensitivity.times(f.direction), stock),
                method="saturation",
                settings=curve,
                **about,
            ),
            bench.finding("saturation_current", s.maximum, method="saturation", settings=curve, **about),
            bench.finding(
                "half_saturation", with_stock(s.half, stock), method="saturation", settings=curve, **about
            ),
        ]
        ends = widened(s.detection_interval, s.detection.value, stock)
        shown = {
            "interval low": ends.low * 1e3,
            "interval high": ends.high * 1e3,
            "level": c.level,
        }
        told = {**about, "condition": ", ".join(p for p in (f.condition, "site-limited curve") if p)}
        out.append(
            bench.finding(
                "detection_limit",
                with_stock(s.detection, stock),
                method="saturation",
                settings=curve | shown,
                **told,
            )
        )
    if c.unsure is not None:
        u = {
            "largest share of x in a point's variance": c.unsure.share,
            "reduced chi-square": c.unsure.reduced,
        }
        note = (
            "the levels are uncertain enough to matter: they add more than a tenth to the scatter's variance"
            " (their own errors, as of volumes; the stock's, which they share, is no scatter)"
        )
        out.append(
            bench.finding(
                "sensitivity_errors_in_x",
                with_stock(c.unsure.slope.times(f.direction), stock),
                method="errors in x",
                settings=settings | u,
                notes=(note,),
                **about,
            )
        )
    return out
