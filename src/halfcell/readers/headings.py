"""What a column's heading says: a name, a unit, and so a role.

Spellings are those met in published data files (common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

SI = {"potential": "V", "current": "A", "density": "A/m^2", "time": "s", "charge": "C"}

_TAIL = r"(?:[\s_,;(\[]*(?:vs\b|versus\b|against\b|rhe\b|she\b|nhe\b|sce\b|ag\b|hg\b|fc\b|mse\b|ref\b).*)?"
_CURRENT = r"(?P<current>[munpfk]?a(?:mp(?:ere)?s?)?)"
_AREA = r"[\s/*._(·⋅]*(?P<area>[cmu]?m)\s*(?:\^|\*\*)?\s*[({]?[-−]?\s*2[)}]?\)?"
_TIMES = {
    "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sek": "s", "ms": "ms", "us": "us", "min": "min",
    "mins": "min", "minute": "min", "minutes": "min", "h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
}  # fmt: skip
_VOLT = re.compile(rf"(?P<unit>[munpk]?)v(?:olts?)?{_TAIL}\Z", re.IGNORECASE)
_AMPERE = re.compile(rf"{_CURRENT}\Z", re.IGNORECASE)
_DENSITY = re.compile(rf"{_CURRENT}{_AREA}\Z", re.IGNORECASE)
_CHARGE = re.compile(r"([munp]?)c(?:oulombs?)?\Z", re.IGNORECASE)
_LONG = re.compile(r"(milli|micro|nano|pico|kilo)(?=volt|amp|sec)", re.IGNORECASE)
_LONG_PREFIX = {"milli": "m", "micro": "u", "nano": "n", "pico": "p", "kilo": "k"}
_FACTOR = re.compile(
    r"(?:[/(\[x×*·]\s*1?|\b1(?:[.,]0*)?)e\s*[-+]?\d{1,2}\b(?!\s*(?:[munp]?M\b|[munp]?mol))"
    r"|(?<![\d.])10\s*(?:\^|\*\*)\s*[({]?\s*[-+]?\d{1,2}\b(?!\s*(?:[munp]?M\b|[munp]?mol))"
    r"|(?<![\d.])10\s?-\s?(?:3|6|9|12)\b(?!\s*(?:[munp]?M\b|[munp]?mol))|[/x×*·]\s*10{3,}\b"
    r"|/\s*\d+(?:[.,]\d+)?\s*[munpk]?[AV]\b(?!\s*/\s*s)",
    re.IGNORECASE,
)
_RAISED = {ord(digit): f"^{value}" for value, digit in enumerate("⁰¹²³⁴⁵⁶⁷⁸⁹")}
_BRACKETS = re.compile(r"[(\[{<]((?:[^()\[\]{}<>]|\([^()]*\))*)[)\]}>]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """One heading, taken apart."""

    text: str
    name: str
    unit: str = ""
    """As the units module knows it; empty where the heading has none of a known kind."""
    kind: str = ""
    """potential, current, density, time, charge, or empty."""
    other_unit: bool = False
    """Whether the heading carries a unit of another kind."""
    factor: str = ""
    """A power of ten in the heading, which may be meant either way round."""


def clean(text: str) -> str:
    """Heading text without quotes and comment signs, with plain micro signs and exponents."""
    text = (
        re.sub("⁻([⁰¹²³⁴⁵⁶⁷⁸⁹])", lambda m: f"-{'⁰¹²³⁴⁵⁶⁷⁸⁹'.index(m.group(1))}", text)
        .replace("µ", "u")
        .replace("μ", "u")
        .replace("⁻", "-")
        .translate(_RAISED)
        .replace("−", "-")
    )
    text = text.replace("\xa0", " ").replace("\ufffd", "u").replace("\ufeff", "")
    return text.strip().strip("\"'").lstrip("#%").strip()


def unit_of(text: str) -> tuple[str, str] | None:
    """(unit, kind) of a text that is nothing but a unit of one of the known kinds."""
    bare = clean(text).strip()
    while bare[:1] in "([{<" and bare[-1:] in ")]}>" and len(bare) > 1:
        bare = bare[1:-1].strip()
    bare = _LONG.sub(lambda m: _LONG_PREFIX[m.group(1).lower()], bare)
    if not bare or len(bare) > 40:
        return None
    if bare.lower() in _TIMES and bare not in {"S", "H", "MS"}:
        return _TIMES[bare.lower()], "time"
    if match := _VOLT.match(bare):
        return match.group("unit").lower() + "V", "potential"
    if match := _DENSITY.match(bare):
        return f"{_ampere(match.group('current'))}/{match.group('area').lower()}^2", "density"
    if match := _AMPERE.match(bare):
        return _ampere(match.group("current")), "current"
    if match := _CHARGE.match(bare):
        return match.group(1).lower() + "C", "charge"
    return None


def _ampere(text: str) -> str:
    low = text.lower()
    return ("" if low.startswith("a") else low[0]) + "A"


def parse(text: str) -> Heading:
    """A heading such as "E / V", "Potential (mV)", "i(uA)", "j / uA cm-2" or "time_s"."""
    bare = clean(text)
    if factor := _FACTOR.search(bare):
        name = re.split(r"[/(\[]|\s[x×*·]", bare)[0].strip()
        return Heading(text=bare, name=name or bare, other_unit=True, factor=factor.group().strip("/([ "))
    if (found := unit_of(bare)) and (len(bare) > 1 or bare in {"V", "A"}):
        return Heading(text=bare, name="", unit=found[0], kind=found[1])
    for match in reversed(list(_BRACKETS.finditer(bare))):
        name = (bare[: match.start()] + " " + bare[match.end() :]).strip()
        if (found := unit_of(match.group(1))) and name:
            return Heading(text=bare, name=name.rstrip(" /"), unit=found[0], kind=found[1])
    for split in re.finditer(r"\s*/\s*|\s*,\s*|\s+in\s+|\s*:\s*|_|\s+", bare):
        name, rest = bare[: split.start()].strip(), bare[split.end() :].strip()
        explicit = split.group().strip() in {"/", ",", "in", ":"}
        found = unit_of(rest)
        if name and found and (explicit or rest not in {"a", "c", "h", "v", "C"}):
            return Heading(text=bare, name=name, unit=found[0], kind=found[1])
    other = bool(re.search(r"[(\[].+[)\]]|\S\s*/\s*\S", bare)) and not re.search(r"\bvs\b", bare)
    name = re.split(r"\s*/\s*", bare)[0] if other else bare
    return Heading(text=bare, name=_BRACKETS.sub("", name).strip() or bare, other_unit=other)


_POTENTIAL = {
    "e",
    "u",
    "v",
    "ewe",
    "we",
    "eapp",
    "potential",
    "voltage",
    "potenzial",
    "spannung",
    "tension",
    "potentiel",
    "volt",
}
_CURRENT_NAMES = {
    "i",
    "j",
    "im",
    "iwe",
    "current",
    "strom",
    "stromstärke",
    "courant",
    "corrente",
    "corriente",
}
_TIME = {"t", "time", "timestamp", "zeitstempel", "zeit", "temps", "tempo", "tiempo", "elapsed"}
_CYCLE = {"cycle", "cycles", "zyklus", "zyklen", "scan", "sweep", "cyc"}
_FORWARD = {"forward", "fwd", "if", "ifwd", "iforward", "iforw", "ipulse"}
_BACKWARD = {
    "backward",
    "reverse",
    "back",
    "rev",
    "bwd",
    "ib",
    "ir",
    "irev",
    "ireverse",
    "iback",
    "ibackward",
    "ibase",
}
_DIFFERENCE = {
    "difference",
    "diff",
    "differential",
    "delta",
    "net",
    "idiff",
    "inet",
    "di",
    "δi",
    "δ",
    "delta_i",
    "∆i",
}
_LESSER = {"set", "setpoint", "control", "counter", "ce", "applied", "nominal", "range", "step", "std", "error", "sd", "smoothed", "filtered"}  # fmt: skip
_NOT = {
    "ln",
    "log",
    "lg",
    "abs",
    "peak",
    "power",
    "resistance",
    "impedance",
    "frequency",
    "phase",
    "temperature",
    "rate",
    "ocp",
    "humidity",
}


def words(name: str) -> list[str]:
    """The words of a heading's name, in lower case."""
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name.replace("Δ", "delta ").replace("∆", "delta "))
    return [w for w in re.split(r"[^a-zäöüéèß]+", apart.lower()) if w]


def of_another_kind(heading: Heading) -> bool:
    """Whether a heading names what is plainly no potential, current or time: a logarithm, a size, a power."""
    return bool(_NOT & set(words(heading.name)) or re.match(r"\|.*\|", heading.text))


def role_of(heading: Heading) -> tuple[str, float]:
    """(role, how sure) of a heading: time, potential, current, cycle, forward, backward, charge, or empty."""
    found = words(re.sub(r"\bvs\b.*", "", heading.name, flags=re.IGNORECASE))
    if of_another_kind(heading):
        return "", 0.0
    role = _by_name(found, "".join(found))
    by_unit = {"density": "current"}.get(heading.kind, heading.kind)
    if role in {"forward", "backward"} and by_unit in {"current", ""} and not heading.other_unit:
        return role, 3.0
    if role == "cycle":
        return ("cycle", 2.0) if not by_unit and not heading.other_unit else (by_unit, 1.0)
    if by_unit and role and by_unit != role:
        role = ""
    if heading.factor and role:
        return role, 1.0
    if heading.other_unit and not by_unit and not (role and re.fullmatch(r"[\w ]+", heading.text)):
        return "", 0.0
    sure = 2.0 * bool(by_unit) + 1.0 * bool(role) - 0.75 * bool(_LESSER & set(found))
    if (_DIFFERENCE & {*found, "".join(found)}) and (by_unit or role) == "current":
        sure += 0.5
    return by_unit or role, sure


def _by_name(found: list[str], joined: str) -> str:
    if not found:
        return ""
    every = set(found) | {joined}
    if every & _FORWARD:
        return "forward"
    if every & _BACKWARD:
        return "backward"
    if every & _DIFFERENCE and not every & _POTENTIAL:
        return "current"
    if found[0] in _CYCLE and "rate" not in every:
        return "cycle"
    for names, role in ((_POTENTIAL, "potential"), (_CURRENT_NAMES, "current"), (_TIME, "time")):
        if found[0] in names or any(w in names and len(w) > 2 for w in found):
            return role
    if "electrode" in every and "working" in every:
        return "potential"
    return "cycle" if every & {"cycle", "zyklus"} and "rate" not in every else ""
