"""The page of licences is that of what is installed, and a licence against ours is named."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture
def bill(monkeypatch: pytest.MonkeyPatch) -> Iterator[ModuleType]:
    monkeypatch.syspath_prepend(ROOT / ".ci")
    import bill

    yield bill
    del sys.modules["bill"]


def test_every_licence_is_known_and_as_on_the_page(bill: ModuleType) -> None:
    made, _ = bill.parts()
    assert {"numpy", "pandas", "matplotlib", "click"} <= {one.name for one in made}
    assert bill.complaints(made, bill.PAGE.read_text(encoding="utf-8")) == []


def test_a_package_that_is_not_on_the_page_is_named(bill: ModuleType) -> None:
    text = bill.PAGE.read_text(encoding="utf-8")
    gone = "\n".join(line for line in text.split("\n") if not line.startswith("| numpy |"))
    made, _ = bill.parts()
    assert bill.complaints(made, gone) == ["numpy (base) is not on the page"]


@pytest.mark.parametrize(
    ("licence", "kind"),
    # SPDX names. Apache-2.0 does not go with the GPL's version 2, and ours is not under the GPL.
    [("GPL-3.0-only", "clash"), ("AGPL-3.0", "clash"), ("LGPL-2.1", "weak"), ("MPL-2.0", "weak"),
     ("GNU General Public License v2 (GPLv2)", "clash"), ("GPL-2.0 OR MIT", "free"),
     ("BSD-3-Clause AND GPL-3.0-only", "clash"), ("not said", "unknown"), ("Limited", "unknown"),
     ("BSD-3-Clause AND GPL-3.0-or-later WITH GCC-exception-3.1", "free"), ("MIT", "free")],
)  # fmt: skip
def test_kinds_of_licences(bill: ModuleType, licence: str, kind: str) -> None:
    part = bill.Part("some", "1", licence, ("base",))
    assert part.kind == kind
    named = any("some" in one for one in bill.complaints([part], ""))
    assert named == (kind in ("clash", "unknown"))


def test_the_bill_has_what_a_racer_installs(bill: ModuleType) -> None:
    document = json.loads(bill.BILL.read_text(encoding="utf-8"))
    assert (document["bomFormat"], document["specVersion"]) == ("CycloneDX", "1.6")
    names = {one["name"] for one in document["components"]}
    asked = {
        bill.canonicalize_name(r.name) for extra in bill.FOR_USERS for r in bill.wanted()[extra]
    }
    assert asked <= names
    assert all(one["purl"] == f"pkg:pypi/{one['name']}@{one['version']}"
               for one in document["components"])  # fmt: skip
    assert not {"pytest", "ruff", "mypy"} & names
