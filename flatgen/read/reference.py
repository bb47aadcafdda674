"""The file reference, printed from the same tables of keys that read the files.

``python -m flatgen.read.reference examples`` (or ``profiles``) prints what stands between the marks ``keys: begin`` and
``keys: end`` of the README in that folder.
"""

import sys
from collections.abc import Mapping, Sequence

from flatgen.read import entries, features, fits, job, outlines, profile, shop
from flatgen.read.keys import Key

KINDS = {
    "text": "text",
    "texts": "list of texts",
    "flag": "true or false",
    "count": "whole number",
    "number": "number",
    "length": "length",
    "lengths": "list of lengths",
    "force": "pull, bare lbf or kgf",
    "angle": "angle",
    "table": "table",
    "tables": "tables",
    "size": "size or formula",
}
JOB_TABLES: dict[str, Sequence[Key]] = {
    "job.toml": job.JOB_KEYS,
    "[[part]]": entries.PART_KEYS,
    "[part.tolerance]": entries.TOLERANCE_KEYS,
    "[[part.fits]]": fits.FIT_KEYS,
    "[[waive]]": job.WAIVE_KEYS,
}
PROFILE_TABLES: dict[str, Sequence[Key]] = {
    "profiles/NAME.toml": profile.PROFILE_KEYS,
    "[parameter.NAME]": profile.PARAMETER_KEYS,
    "[face.NAME]": features.FACE_KEYS,
    "[flange.NAME]": features.FLANGE_KEYS,
    "an arc among points": outlines.ARC_KEYS,
    "[joggle.NAME]": features.JOGGLE_KEYS,
    **{f"[[{name}]], in a job [[part.{name}]]": keys for name, keys in features.FEATURES.items()},
}
FILES: dict[str, dict[str, Mapping[str, Sequence[Key]]]] = {
    "examples": {"The shop": shop.TABLES, "The job": JOB_TABLES},
    "profiles": {"A profile": PROFILE_TABLES},
}


def reference(folder: str) -> str:
    """Tables of keys as Markdown, for the README of a folder."""
    parts = []
    for title, tables in FILES[folder].items():
        parts.append(f"### {title}")
        for head, keys in tables.items():
            parts.append(f"**`{head}`**")
            parts.append(_table(keys))
    return "\n\n".join(parts)


def _table(keys: Sequence[Key]) -> str:
    rows = ["| key | is | when left out | what it says |", "| --- | --- | --- | --- |"]
    rows += [f"| `{key.name}` | {_kind(key)} | {_default(key)} | {_cell(key.explain)} |" for key in keys]
    return "\n".join(rows)


def _kind(key: Key) -> str:
    if key.kind == "choice":
        return " or ".join(f"`{choice}`" for choice in key.choices if choice)
    limits = []
    unit = {"length": " mm", "lengths": " mm", "angle": "°"}.get(key.kind, "")
    if key.least is not None:
        limits.append("more than 0" if 0 < key.least < 1e-6 else f"at least {key.least:g}{unit}")
    if key.most is not None:
        limits.append(f"at most {key.most:g}{unit}")
    return ", ".join([KINDS[key.kind], *limits])


def _default(key: Key) -> str:
    if key.required:
        return "**needed**"
    value = key.default
    if value is None or value in ("", (), [], {}):
        return ""
    if isinstance(value, bool):
        return "`true`" if value else "`false`"
    unit = {"length": " mm", "angle": "°"}.get(key.kind, "")
    return f"{value:g}{unit}" if isinstance(value, int | float) else f"`{value}`"


def _cell(text: str) -> str:
    """Text that no table of Markdown takes for its own marks."""
    return text.replace("|", "\\|").replace("[", "\\[").replace("]", "\\]").replace("<", "&lt;").replace("*", "\\*")


if __name__ == "__main__":
    print(reference(sys.argv[1]))
