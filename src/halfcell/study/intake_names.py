"""What the parts of a file's name tell: electrode, technique, concentration, scan rate, air, replicate."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath

from halfcell.study.intake_words import AIR, BLANK, LOG, MEDIA, NO_AIR, WORDS

_SPLIT = re.compile(r"([_\-\s.,;()\[\]]+)")
_NUMBER = r"(\d+(?:[.,p]\d+)?)"
_CONCENTRATION = re.compile(
    rf"(?<![A-Za-z0-9.]){_NUMBER}[\s_-]?((?:[munµμ]M)|M(?![a-z])|[munµμ]?mol[\s_-]?(?:per|p)?[\s_-]?L(?:-?1)?)(?![A-Za-z0-9])"
)
_SCAN_RATE = re.compile(
    rf"(?<![A-Za-z0-9.]){_NUMBER}[\s_-]?(m?V)(?:[\s_-]?(?:per|p)?[\s_-]?s|s)(?:[\s_-]?1)?(?![A-Za-z0-9])",
    re.IGNORECASE,
)
_WORD = re.compile(r"[_\-\s]*([A-Za-z0-9]+)")
_SEAM = re.compile(
    r"(?<=\d)(?=(?:CV|LSV|DPV|SWV|CA|SEM|TEM)(?![A-Za-z]))|(?<=\dCV)(?=\d)|(?<=LSV|DPV|SWV|SEM|TEM)(?=\d)|(?<=[mun]M)(?=\d)"
)
_DATE = re.compile(r"(?<!\d)(?:20\d\d[-_.]?[01]\d[-_.]?[0-3]\d|[0-3]\d[-_.][01]\d[-_.]20\d\d)(?!\d)")

_COUNTER = re.compile(
    r"^(?:rep|replicate|run|scan|cycle|field|img|image|r|n|no|nr|part|meas|sem|tem|mag)\d+$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NameParts:
    """What a name tells; empty where it tells nothing."""

    electrode: str = ""
    technique: str = ""
    concentration: str = ""
    scan_rate: str = ""
    air: str = ""
    """"air", "removed" or empty."""
    blank: bool = False
    log: bool = False
    medium: str = ""
    """The supporting electrolyte, with its concentration where the name holds it."""
    rest: tuple[str, ...] = ()
    """Parts that no meaning is known for."""


def name_parts(path: str) -> NameParts:
    """The meaning of the parts of a file's path; folders tell what the name itself does not."""
    pure = PurePosixPath(path)
    own = _parts(pure.stem)
    for folder in reversed(
        [p for p in pure.parts[:-1] if p.lower() not in {"data", "images", "raw", "exports"}]
    ):
        above = _parts(folder)
        own = NameParts(
            electrode=own.electrode or above.electrode,
            technique=own.technique or above.technique,
            concentration=own.concentration or above.concentration,
            scan_rate=own.scan_rate or above.scan_rate,
            air=own.air or above.air,
            blank=own.blank or (above.blank and not own.concentration),
            log=own.log,
            medium=own.medium or above.medium,
            rest=own.rest,
        )
    return own


def _parts(stem: str) -> NameParts:
    text = _apart(_DATE.sub(" ", stem))
    concentration = scan_rate = ""
    if match := _SCAN_RATE.search(text):
        scan_rate = f"{_plain(match.group(1))} {'mV' if match.group(2).lower() == 'mv' else 'V'}/s"
        text = text[: match.start()] + "\0" + text[match.end() :]
    medium = ""
    for match in _CONCENTRATION.finditer(text):
        if (follows := _WORD.match(text, match.end())) and follows.group(1).casefold() in MEDIA:
            medium = f"{_plain(match.group(1))} {_concentration_unit(match.group(2))} {follows.group(1)}"
            text = text[: match.start()] + "\0" + text[follows.end() :]
            break
    if match := _CONCENTRATION.search(text):
        concentration = f"{_plain(match.group(1))} {_concentration_unit(match.group(2))}"
        text = text[: match.start()] + "\0" + text[match.end() :]
    told, runs = _told(_SPLIT.split(text))
    electrode = next((run for run in runs if re.search(r"[A-Za-z]", run)), "")
    return NameParts(
        electrode=electrode,
        technique=told.get("technique", ""),
        concentration=concentration,
        scan_rate=scan_rate,
        air=told.get("air", ""),
        blank="blank" in told or (concentration != "" and float(concentration.split()[0]) == 0),
        log="log" in told,
        medium=medium or told.get("medium", ""),
        rest=tuple(run for run in runs if run != electrode),
    )


def _apart(stem: str) -> str:
    """A name written without any marks ("Ni2CV1mM50mVs") with marks where one thing ends and the next begins."""
    return stem if re.search(r"[_\-\s.,;]", stem) else _SEAM.sub("_", stem)


def pieces(text: str) -> list[tuple[str, str]]:
    """(kind, text) of each part of a name in its order: "technique", "concentration", "scan_rate", "medium",
    "air", "blank", "log", "counter", or "part" for one that no meaning is known for. Dates are left out."""
    text = _apart(_DATE.sub(lambda match: " " * len(match.group()), text))
    spans: list[tuple[int, int, str]] = []
    if match := _SCAN_RATE.search(text):
        spans.append((*match.span(), "scan_rate"))
    for match in _CONCENTRATION.finditer(text):
        follows = _WORD.match(text, match.end())
        if follows and follows.group(1).casefold() in MEDIA:
            spans.append((match.start(), follows.end(), "medium"))
        else:
            spans.append((*match.span(), "concentration"))
    found: list[tuple[int, str, str]] = [(start, kind, text[start:end]) for start, end, kind in spans]
    for start, end, _ in spans:
        text = text[:start] + " " * (end - start) + text[end:]
    for match in re.finditer(r"[^_\-\s.,;()\[\]]+", text):
        meaning = _meaning(match.group())
        found.append((match.start(), meaning[0] if meaning else "part", match.group()))
    return [(kind, part) for _, kind, part in sorted(found)]


def technique_of(text: str) -> str:
    """The kind of record that a word of a name stands for, or empty."""
    return WORDS.get(text.casefold().rstrip("0123456789"), "")


def concentration_of(text: str) -> str:
    """A concentration as study files write it ("0p5mM" is "0.5 mmol/L"), or empty."""
    match = _CONCENTRATION.search(text)
    return f"{_plain(match.group(1))} {_concentration_unit(match.group(2))}" if match else ""


def scan_rate_of(text: str) -> str:
    """A scan rate as study files write it ("50mVs" is "50 mV/s"), or empty."""
    match = _SCAN_RATE.search(text)
    return f"{_plain(match.group(1))} {'mV' if match.group(2).lower() == 'mv' else 'V'}/s" if match else ""


def is_blank(text: str) -> bool:
    """Whether a word of a name stands for a blank."""
    return text.casefold().rstrip("0123456789") in BLANK


def plain_number(number: str) -> str:
    """A number of a name with a decimal point ("0p5" is "0.5")."""
    return _plain(number)


def names_a_metal(text: str) -> bool:
    """Whether a part of a name is a metal ("Ni", "Ni1") or says that a substrate is bare or a metal is solid."""
    made = made_of(text)
    return made.role in {"bare", "bulk"} or made.material.partition(",")[0] in METALS.values()


def _told(pieces: list[str]) -> tuple[dict[str, str], list[str]]:
    """What the pieces (with the marks between them) tell, first word first; and runs of unknown pieces."""
    told: dict[str, str] = {}
    runs: list[str] = []
    open_run = False
    for i in range(0, len(pieces), 2):
        piece = pieces[i]
        if not piece:
            continue
        meaning = _meaning(piece)
        if meaning is not None:
            told.setdefault(*meaning)
            open_run = False
        elif open_run and not re.search(r"[()\[\]]", pieces[i - 1]):
            runs[-1] += pieces[i - 1] + piece
        else:
            runs.append(piece)
            open_run = True
    return told, runs


def _meaning(piece: str) -> tuple[str, str] | None:
    """What one piece of a name is about and what it says; None for one that is not known."""
    whole = piece.casefold()
    word = whole if whole in AIR | NO_AIR else whole.rstrip("0123456789")
    if word in WORDS and (whole == word or _COUNTER.match(whole)):
        return "technique", WORDS[word]
    for kind, words, says in (
        ("air", AIR, "air"),
        ("air", NO_AIR, "removed"),
        ("blank", BLANK, "yes"),
        ("log", LOG, "yes"),
    ):
        if word in words:
            return kind, says
    if whole in MEDIA:
        return "medium", piece
    return ("counter", piece) if piece == "\0" or _COUNTER.match(whole) else None


def _plain(number: str) -> str:
    return f"{float(number.replace(',', '.').replace('p', '.')):g}"


def _concentration_unit(unit: str) -> str:
    prefix = {"µ": "u", "μ": "u"}.get(unit[0], unit[0]) if unit[0] in "munµμ" and unit[:3] != "mol" else ""
    return f"{prefix}mol/L"


def shared_lead_removed(names: Iterable[str]) -> dict[str, str]:
    """Electrode names without a first part that all of them share ("exp5_Ni1", "exp5_Cu1")."""
    all_names = sorted(set(names))
    short = {name: re.sub(r"^[^_\-\s]+[_\-\s]+", "", name) for name in all_names}
    leads = {name[: len(name) - len(short[name])] for name in all_names}
    telling = all(re.search(r"[A-Za-z]", s) for s in short.values()) and len(set(short.values())) == len(
        all_names
    )
    if len(all_names) > 1 and len(leads) == 1 and leads != {""} and telling:
        return short
    return {name: name for name in all_names}


METALS = {
    "ag": "silver", "au": "gold", "bi": "bismuth", "co": "cobalt", "cr": "chromium", "cu": "copper", "fe": "iron",
    "ir": "iridium", "mn": "manganese", "mo": "molybdenum", "ni": "nickel", "pb": "lead", "pd": "palladium", "pt": "platinum",
    "rh": "rhodium", "ru": "ruthenium", "sb": "antimony", "sn": "tin", "ti": "titanium", "w": "tungsten", "zn": "zinc",
}  # fmt: skip
_BARE = {"bare", "spc", "spce", "gce", "gc", "carbon", "substrate", "unmodified", "blank", "ito", "fto"}
_BULK = {"disc", "disk", "bulk", "foil", "wire", "solid", "plate"}


@dataclass(frozen=True, slots=True)
class MadeOf:
    """What an electrode's name tells of how it was made."""

    material: str
    role: str


def made_of(electrode: str) -> MadeOf:
    """Material and role from an electrode's name: "Ni-seeded-2" is "nickel, seeded", a control."""
    words = [
        w
        for w in re.split(r"[_\-\s]+|(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])", electrode)
        if w and not w.isdigit()
    ]
    if not words:
        return MadeOf("?", "candidate")
    first, others = words[0], words[1:]
    metal = METALS.get(first.casefold())
    if any(w.casefold() in _BULK for w in others):
        return MadeOf(f"{metal or first} {' '.join(others)}", "bulk")
    if first.casefold() in _BARE or any(w.casefold() == "bare" for w in words):
        return MadeOf(
            "bare "
            + ("carbon" if first.casefold() in {"spc", "spce", "gce", "gc", "carbon", "bare"} else first),
            "bare",
        )
    material = metal or first
    return MadeOf(f"{material}, {' '.join(others)}", "control") if others else MadeOf(material, "candidate")
