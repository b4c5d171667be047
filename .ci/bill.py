"""
What is installed with Lapwright, under which licences: a page of the docs and a bill of materials.

    python .ci/bill.py            # is every licence known, and does none of them clash with ours?
    python .ci/bill.py --write    # docs/licences.md and docs/licences.cdx.json, as installed here

Reads the metadata of the packages installed here and asks nobody.  An extra that is not installed
is not looked at, and that is said.

Sources: core metadata 2.4 (License-Expression before License before the classifiers, PEP 639);
CycloneDX 1.6 (ECMA-424) for the bill.  That a licence goes with Apache-2.0 is the reading of the
Free Software Foundation's list and of the Apache Software Foundation's "Third-Party License
Policy", categories A and B; it is no legal advice.
"""

import argparse
import json
import re
import sys
import tomllib
from dataclasses import dataclass, replace
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parent.parent
PAGE, BILL = ROOT / "docs" / "licences.md", ROOT / "docs" / "licences.cdx.json"
BASE = "base"
# What only contributors install is not part of what a racer gets.
FOR_USERS = (BASE, "parquet", "cluster", "notebooks", "live")

# Parts of a licence's name, in the order in which they are looked for.  "weak": it may be
# installed beside ours, unchanged; what is changed in its own files stays under it.
KINDS = (
    (r"WITH GCC-exception", "free"),
    (r"AGPL|Affero|SSPL|Commons Clause|BUSL|non-?commercial|proprietary", "clash"),
    (r"LGPL|Lesser General Public|MPL|Mozilla|EPL", "weak"),
    (r"(?<!L)GPL|GNU General Public", "clash"),
    (r"\b(Apache|(New |Modified |0)?BSD|MIT(-CMU)?|ISC|PSF|Python[- ]Software|Python-2|HPND|Zlib)\b"
     r"|\b(Unlicense|CC0|Historical Permission|Public Domain|CNRI|BSL-1.0)\b", "free"),
)  # fmt: skip
_ORDER = ("free", "weak", "unknown", "clash")
# Metadata that names no licence, looked up by hand in the file that comes with the package.
BY_HAND = {"matplotlib": "PSF-2.0 (matplotlib licence)", "atheris": "Apache-2.0"}


@dataclass(frozen=True)
class Part:
    """One package: its name, version and licence, and what it is installed for."""

    name: str
    version: str
    licence: str
    wanted: tuple[str, ...]

    @property
    def kind(self) -> str:
        """``free``, ``weak``, ``clash``, or ``unknown``."""
        # Of "GPL-2.0 OR MIT" whoever takes it may choose; of "BSD AND MIT" both hold.
        parts = re.split(r" AND ", self.licence.replace("(", "").replace(")", ""))
        return max((min(map(_kind, one.split(" OR ")), key=_ORDER.index) for one in parts),
                   key=_ORDER.index)  # fmt: skip


def _kind(licence: str) -> str:
    for pattern, kind in KINDS:
        if re.search(pattern, licence, re.IGNORECASE):
            return kind
    return "unknown"


def wanted() -> dict[str, list[Requirement]]:
    """Return what pyproject.toml asks for: the base and every extra."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = {BASE: project["dependencies"], **project["optional-dependencies"]}
    return {extra: [Requirement(one) for one in said] for extra, said in asked.items()}


def licence_of(package: Distribution) -> str:
    """Return a licence as the package's metadata says it, on one line."""
    name = canonicalize_name(package.metadata["Name"])
    if name in BY_HAND:
        return BY_HAND[name]
    said = package.metadata.get("License-Expression")
    if said:
        return str(said)
    kinds = [
        line.rpartition(" :: ")[2]
        for line in package.metadata.get_all("Classifier") or []
        if line.startswith("License ::") and not line.endswith("OSI Approved")
    ]
    text = " ".join(str(package.metadata.get("License") or "").replace("|", "/").split())
    # A whole licence pasted into its field begins with a name or a copyright.
    return " OR ".join(kinds) or (text if len(text) <= 60 else text[:57] + "...") or "not said"


def parts() -> tuple[list[Part], list[str]]:
    """Return every package that is installed for the base or an extra, and the extras that lack."""
    reached: dict[str, set[str]] = {}
    found: dict[str, Distribution] = {}
    missing = []
    for extra, requirements in wanted().items():
        seen: set[tuple[str, str]] = set()
        todo = [(one, "") for one in requirements]
        while todo:
            requirement, _ = todo.pop()
            name = canonicalize_name(requirement.name)
            try:
                package = found.setdefault(name, distribution(name))
            except PackageNotFoundError:
                if requirement in requirements:
                    missing.append(f"{extra}: {requirement.name}")
                continue
            reached.setdefault(name, set()).add(extra)
            for more in ("", *sorted(requirement.extras)):
                if (name, more) in seen:
                    continue
                seen.add((name, more))
                asked = map(Requirement, package.requires or [])
                todo += [(r, more) for r in asked
                         if r.marker is None or r.marker.evaluate({"extra": more})]  # fmt: skip
    order = list(wanted())
    made = [
        Part(name, found[name].version, licence_of(found[name]),
             tuple(sorted(extras, key=order.index)))
        for name, extras in sorted(reached.items())
    ]  # fmt: skip
    return made, missing


def page(made: list[Part]) -> str:
    """Write the page of the docs."""
    lines = [
        "# What is installed, and under which licence",
        "",
        "Lapwright itself is under Apache-2.0; no code of others is copied into it. These packages",
        "are installed with it from the package index, each under its own licence. Versions are",
        "those at hand when this page was made; newer ones are taken as they come. The same list",
        "for programs (CycloneDX 1.6) is `docs/licences.cdx.json` in the source.",
        "",
    ]
    weak = [one for one in made if one.kind == "weak" and set(one.wanted) & set(FOR_USERS)]
    bad = [one for one in made if one.kind in ("clash", "unknown")]
    if weak:
        names = ", ".join(f"{one.name} ({one.licence})" for one in weak)
        lines += [f"With a condition on changes to their own files only: {names}.", ""]
    if bad:
        lines += [f"**{one.name}: {one.licence} ({one.kind})**" for one in bad] + [""]
    else:
        lines += ["All of them may be used together with Apache-2.0.", ""]
    for head, extras in (
        ("Always", (BASE,)), ("With an extra that a racer may want", FOR_USERS[1:]),
        ("For contributors only: tests, checks, docs", ()),
    ):  # fmt: skip
        rows = [one for one in made if _belongs(one, extras)]
        lines += [
            f"## {head}",
            "",
            "| package | version | licence | wanted by |",
            "|---|---|---|---|",
        ]
        lines += [
            f"| {one.name} | {one.version} | {one.licence} | {', '.join(one.wanted)} |"
            for one in rows
        ]
        lines.append("")
    return "\n".join(lines)


def _belongs(one: Part, extras: tuple[str, ...]) -> bool:
    first = BASE if BASE in one.wanted else "user" if set(one.wanted) & set(FOR_USERS) else ""
    return first == (BASE if BASE in extras else "user" if extras else "")


def bill(made: list[Part]) -> str:
    """Write the bill of materials of what a racer may install."""
    text = (ROOT / "src/lapwright/_version.py").read_text(encoding="utf-8")
    version = re.search(r'__version__ = "(.+)"', text)
    assert version is not None
    document = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {
            "component": {
                "type": "application", "bom-ref": "lapwright", "name": "lapwright",
                "version": version[1], "licenses": [{"license": {"id": "Apache-2.0"}}],
            }
        },
        "components": [
            {
                "type": "library", "bom-ref": one.name, "name": one.name, "version": one.version,
                "purl": f"pkg:pypi/{one.name}@{one.version}",
                "licenses": [{"license": {"name": one.licence}}],
                "properties": [
                    {"name": "lapwright:wanted-by", "value": extra}
                    for extra in one.wanted if extra in FOR_USERS
                ],
            }
            for one in made if set(one.wanted) & set(FOR_USERS)
        ],
    }  # fmt: skip
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def complaints(made: list[Part], text: str) -> list[str]:
    """Say which licences are unknown, clash with ours, or are not those on the page."""
    said = [f"{one.name}: {one.licence}: {one.kind}" for one in made
            if one.kind in ("clash", "unknown")]  # fmt: skip
    asked = {canonicalize_name(one.name): extra for extra, all_ in wanted().items() for one in all_}
    installed = {one.name: one for one in made}
    for name, extra in asked.items():
        row = re.search(rf"^\| {re.escape(name)} \| \S+ \| (.*) \| .*$", text, re.MULTILINE)
        if row is None:
            said.append(f"{name} ({extra}) is not on the page")
        elif (
            name in installed
            and replace(installed[name], licence=row[1]).kind != installed[name].kind
        ):
            # The same licence may be called otherwise in a newer version.
            said.append(f"{name}: {installed[name].licence} now, {row[1]} on the page")
    return said


def main() -> int:
    """Write or check; the exit status is 1 where something is wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true")
    chosen = parser.parse_args()
    made, missing = parts()
    for one in missing:
        print(f"not installed here, so not looked at: {one}")
    if chosen.write:
        if missing:
            print("nothing written: install every extra first")
            return 1
        PAGE.write_text(page(made), encoding="utf-8")
        BILL.write_text(bill(made), encoding="utf-8")
    said = complaints(made, PAGE.read_text(encoding="utf-8"))
    print("\n".join(said) or f"{len(made)} packages, every licence known, none against ours")
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main())
