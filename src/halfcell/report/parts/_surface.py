"""What is on the surface in sentences: a short paragraph a group, and a sentence an electrode."""

from __future__ import annotations

import math
from statistics import fmean
from typing import TYPE_CHECKING

from halfcell.report.blocks import Text
from halfcell.report.parts._words import joined
from halfcell.units import number, percent, pretty, with_uncertainty

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from halfcell.finding import Finding

    Own = Mapping[str, Finding]
    Electrodes = Mapping[str, Own]

_VERDICTS = {
    "clustered": "clustered: in places more crowded than the same particles laid at random without overlap",
    "even": "evenly spread: more regularly spaced than the same particles laid at random without overlap",
    "random": "not shown to differ from the same particles laid at random without overlap",
}
_RANGE = (
    "In brackets: the lowest and the highest electrode of the group; ± in tables is one standard uncertainty."
)
_DOUBT = "in doubt"
_ABOVE_ONE = (
    "An evenness ratio above 1 can go with clusters: it compares with points that have no size, while particles cannot lie nearer "
    "to each other than they are wide. The verdict compares with discs of the measured sizes at random, by nearest distances and, for "
    "crowding over larger distances, by Ripley's L."
)
VERDICTS_IN_BRIEF = {
    "clustered": "clustered",
    "even": "evenly spread",
    "random": "not shown to differ from random",
}


def by_group(rows: Sequence[Finding]) -> dict[str, dict[str, dict[str, Finding]]]:
    """Findings without a condition by group, electrode and name, in the order of the study."""
    by: dict[str, dict[str, dict[str, Finding]]] = {}
    for f in rows:
        if f.electrode and not f.condition:
            by.setdefault(f.group, {}).setdefault(f.electrode, {})[f.name] = f
    counted = {
        group: {name: own for name, own in electrodes.items() if "particles_counted" in own}
        for group, electrodes in by.items()
    }
    return {group: electrodes for group, electrodes in counted.items() if electrodes}


def in_short(rows: Sequence[Finding]) -> Iterator[Text]:
    """One short paragraph a group (sizes, number, coverage, arrangement), then how to read it."""
    groups = by_group(rows)
    for group, electrodes in groups.items():
        yield Text(text=_paragraph(group, electrodes))
    notes = [_RANGE] if any(len(electrodes) > 1 for electrodes in groups.values()) else []
    every = [own for electrodes in groups.values() for own in electrodes.values()]
    notes += [_ABOVE_ONE] if any(_odd(own) for own in every) else []
    if notes:
        yield Text(text=" ".join(notes), tone="note")


def in_detail(rows: Sequence[Finding]) -> Iterator[Text]:
    """One paragraph a group with a sentence an electrode."""
    for group, electrodes in by_group(rows).items():
        said = " ".join(_sentence(name, own) for name, own in electrodes.items())
        yield Text(text=f"{_name(group)}. {said}")


def _name(group: str) -> str:
    return f"{group[:1].upper()}{group[1:]}" if group else "Electrodes without a group"


def _paragraph(group: str, electrodes: Electrodes) -> str:
    seen = {name: own for name, own in electrodes.items() if own["particles_counted"].value > 0}
    bare = [name for name in electrodes if name not in seen]
    if not seen:
        return f"{_name(group)}: no particle was found on {joined(bare)}."
    count = sum(own["particles_counted"].value for own in seen.values())
    many = f"{len(seen)} electrodes" if len(seen) > 1 else next(iter(seen))
    text = f"{_name(group)}: {count:.0f} particles on {many}"
    for words, name, tail in (
        ("mean diameter", "particle_diameter", ""),
        ("", "particle_density", " on each µm²"),
        ("covering", "coverage", " of the surface"),
    ):
        value = _mean(name, seen)
        value = value.replace(" µm⁻²", "")
        text += f", {words} {value}{tail}".replace(",  ", ", ") if value else ""
    none = f" No particle was found on {joined(bare)}." if bare else ""
    return f"{text}.{none}{_arrangement(seen)}{_populations(seen)}{_doubted(seen)}"


def _doubted(electrodes: Electrodes) -> str:
    """Whose outlines are in doubt: no number of theirs stands without this."""
    names = [name for name, own in electrodes.items() if _in_doubt(own)]
    if not names:
        return ""
    return f" The outlines on {joined(names)} are in doubt (see the warnings): look at them before these numbers are used."


def _in_doubt(own: Own) -> bool:
    return any(_DOUBT in note for note in own["particles_counted"].notes)


def _mean(name: str, electrodes: Electrodes) -> str:
    """ "48.2 nm (45.7 to 48.3)": mean over electrodes and the range between them."""
    found = [own[name] for own in electrodes.values() if name in own]
    if not found:
        return ""
    if len(found) == 1:
        return _shown(found[0])
    values = [f.value for f in found]
    low, high, unit = min(values), max(values), pretty(found[0].unit)
    step = (high - low) or abs(low) / 10
    mean = number(fmean(values), step)
    return f"{mean} {unit} ({number(low, step)} to {number(high, step)})"


def _arrangement(electrodes: Electrodes) -> str:
    judged = {name: own for name, own in electrodes.items() if "evenness" in own and own["evenness"].text}
    words: dict[str, list[str]] = {}
    for name, own in judged.items():
        words.setdefault(own["evenness"].text, []).append(name)
    if not words:
        return " There are too few particles to judge their arrangement."
    if len(words) == 1:
        word, names = next(iter(words.items()))
        where = "" if len(electrodes) == 1 else f" on {'all' if len(names) > 2 else 'both'} electrodes"
        if len(names) < len(electrodes):
            where = f" on {joined(names)} (on the others there are too few to judge)"
        text = f" Their arrangement{where} is {_VERDICTS[word]}."
    else:
        parts = [f"{VERDICTS_IN_BRIEF[word]} on {joined(names)}" for word, names in words.items()]
        text = f" Their arrangement is {'; '.join(parts)}, each judged against the same particles laid at random without overlap."
    return text + _ratio(judged)


def _ratio(judged: Electrodes) -> str:
    """The evenness ratio beside that of the same particles at random."""
    found = [own["evenness_ratio"].value for own in judged.values() if "evenness_ratio" in own]
    if not found:
        return ""
    random = [r for own in judged.values() if (r := _at_random(own)) > 0]
    return f" Evenness ratio: {_span(found)}{f'; at random it would be {_span(random)}' if random else ''}."


def _odd(own: Own) -> bool:
    """Whether particles are clustered although their evenness ratio is above 1."""
    return "evenness" in own and own["evenness"].text == "clustered" and own["evenness_ratio"].value > 1


def _span(values: Sequence[float]) -> str:
    low, high = (number(v, 0.1) for v in (min(values), max(values)))
    return low if low == high else f"{low} to {high}"


def _at_random(own: Own) -> float:
    """The ratio of the same particles at random, from the note of the evenness ratio; 0 where none is told."""
    for note in own["evenness_ratio"].notes if "evenness_ratio" in own else ():
        last = note.rpartition(": ")[2]
        if last.replace(".", "", 1).isdigit():
            return float(last)
    return 0.0


def _populations(electrodes: Electrodes) -> str:
    two = [
        name
        for name, own in electrodes.items()
        if "size_populations" in own and own["size_populations"].value > 1
    ]
    return f" Their sizes come in two populations on {joined(two)}." if two else ""


def _sentence(electrode: str, own: Own) -> str:
    count = own["particles_counted"].value
    if count == 0:
        return f"On {electrode} no particle was found."
    text = f"On {electrode}, {count:.0f} particles"
    if "particle_diameter" in own:
        text += f" of mean diameter {_within(own['particle_diameter'])}, relative spread {_within(own['size_spread'])},"
    text += (
        f" stand at {_within(own['particle_density'])} and cover {_within(own['coverage'])} of the surface"
    )
    verdict = own.get("evenness")
    if verdict is not None and verdict.text:
        text += f"; their arrangement is {VERDICTS_IN_BRIEF[verdict.text]} ({_chance(verdict)}; evenness ratio {_shown(own['evenness_ratio'])})"
    if "size_populations" in own and own["size_populations"].value > 1:
        told = [note for note in own["size_populations"].notes if note.startswith("medians")]
        text += "; their sizes come in two populations" + (f" ({told[0]})" if told else "")
    enough = own.get("particles_needed")
    if enough is not None:
        text += f"; {enough.value:.0f} particles would fix the mean within 5 %"
    return f"{text}.{' Its outlines are in doubt (see the warnings).' if _in_doubt(own) else ''}"


def _chance(verdict: Finding) -> str:
    """ "p = 0.010; of nearest distances 0.010, Ripley's L 0.005": brackets within brackets are hard to read."""
    said = next((note for note in verdict.notes if note.startswith("p = ")), "").split(" against")[0]
    return said.replace(" (", "; of ", 1).rstrip(")")


def _within(f: Finding) -> str:
    """ "48.2 nm (95 % interval 47.1 to 49.3)" at the confidence the finding was made for."""
    level = float(f.settings.get("confidence", 0.95))
    found = f.measured().interval(level)
    if not (math.isfinite(found.low) and found.high > found.low):
        return _shown(f)
    step, unit = (found.high - found.low) / 4, pretty(f.unit)
    low, high = max(found.low, 0.0), found.high
    value = f"{number(f.value, step)} {unit}".strip()
    return f"{value} ({percent(level)} interval {number(low, step)} to {number(high, step)})"


def _shown(f: Finding) -> str:
    return with_uncertainty(f.value, f.standard_uncertainty, f.unit)
