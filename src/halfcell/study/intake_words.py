"""Words that names of files are made of: trade words, in English, German and French."""

from __future__ import annotations

from collections.abc import Mapping

TECHNIQUES: Mapping[str, tuple[str, ...]] = {
    "cyclic voltammogram": (
        "cv",
        "cyclic",
        "cyclovoltammogram",
        "voltammogram",
        "cycles",
        "zyklo",
        "zyklovoltammogramm",
        "zyklisch",
    ),
    "linear sweep": ("lsv", "linear", "linearsweep", "sweep"),
    "differential pulse": ("dpv", "dp", "differential"),
    "square wave": ("swv", "squarewave", "square"),
    "potential step": ("step", "steps", "ca", "chronoamperometry", "cottrell", "chrono"),
    "additions": (
        "additions",
        "addition",
        "add",
        "amperometry",
        "amp",
        "it",
        "stirred",
        "spikes",
        "amperometrie",
        "zugabe",
        "zugaben",
    ),
    "deposition": ("deposition", "dep", "plating", "electrodeposition", "abscheidung"),
    "micrograph": ("sem", "tem", "image", "micrograph", "field", "afm", "img", "photo", "mag"),
}
WORDS = {word: technique for technique, words in TECHNIQUES.items() for word in words}
AIR = frozenset(["aerated", "aerobic", "air", "airsat", "luft", "o2", "oxygen", "saturated", "sauerstoff"])
NO_AIR = frozenset(
    [
        "anaerobic",
        "ar",
        "argon",
        "deaerated",
        "degassed",
        "deoxygenated",
        "entgast",
        "n2",
        "nitrogen",
        "purged",
        "stickstoff",
    ]
)
BLANK = frozenset(
    [
        "background",
        "baseline",
        "bg",
        "blanc",
        "blank",
        "blk",
        "buffer",
        "electrolyte",
        "leerprobe",
        "leerwert",
        "puffer",
    ]
)
LOG = frozenset(["log", "notebook", "notes", "protocol", "protokoll", "volumes"])
MEDIA = frozenset(
    [
        "csoh",
        "h2so4",
        "h3po4",
        "hcl",
        "hclo4",
        "hno3",
        "k2so4",
        "kbr",
        "kcl",
        "kclo4",
        "kf",
        "khco3",
        "ki",
        "kno3",
        "koh",
        "liclo4",
        "lioh",
        "na2so4",
        "nacl",
        "naclo4",
        "naf",
        "nahco3",
        "nano3",
        "naoh",
        "pbs",
        "tbapf6",
    ]
)
"""Supporting electrolytes, as files are named by them."""
