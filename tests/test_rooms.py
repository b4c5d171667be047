"""Walk all imports: data flow one way through the rooms, and no import hides in a function."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import lapwright

PACKAGE = Path(lapwright.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))

# A room imports only from rooms with a smaller number; those with the same number are strangers
# to each other, save that report draws with plots.
ORDER = {
    "arguments": -1, "_version": 0, "ends_with_parent": 0, "errors": 0, "toml_text": 0, "units": 0,
    "columns": 0, "in_notebook": 0, "escaping": 0, "outputs": 1, "plane": 1, "numerics": 1,
    "kept": 1, "settings": 2, "ingest": 2, "simulate": 3, "motion": 4, "geometry": 5,
    "discovery": 6, "notes": 6, "two_logs": 6, "laps": 7, "corners": 8, "achievable": 8,
    "coaching": 9, "car": 9, "race": 9, "session": 10, "live_session": 11, "wording": 11,
    "plots": 12, "captions": 12, "report": 13, "batch": 14,
    "cli": 15, "notebook": 15, "__main__": 16,
}  # fmt: skip
# `simulate` is there to test the rest, so it may not share its estimation with it.
SIMULATE_MAY_USE = {"ingest", "errors"}

# Imports inside functions, each with its reason: (file, module).
HIDDEN = {
    ("__init__.py", "importlib"): "public names are imported when first used (SPEC 1)",
    ("settings.py", "platformdirs"): "needed only where no settings lie beside the log",
    ("kept/store.py", "platformdirs"): "needed only where no folder is named",
    (
        "discovery/library/track_folders.py",
        "platformdirs",
    ): "needed only for the user's own library",
    ("batch/tables/laps_and_sessions.py", "pyarrow"): "an extra; CSV is written without it",
    ("batch/season.py", "pyarrow"): "an extra; only a season needs it",
    ("batch/season.py", "pyarrow.parquet"): "an extra; only a season needs it",
    ("batch/season_place.py", "fsspec.core"): "an extra; only an address needs it",
    ("live_session/receiving/sources.py", "serial"): "an extra; only a serial port needs it",
    ("batch/cluster.py", "distributed"): "an extra; only --scheduler needs it",
}
# scipy costs 0.3 to 0.8 s to import, more than 90,000 fixes cost to read: where a function that
# is not on the way of `laps` needs it, it may fetch it itself.  matplotlib likewise.
HEAVY = ("scipy", "matplotlib")


def room_of(file: Path) -> str:
    parts = file.relative_to(PACKAGE).with_suffix("").parts
    return parts[0]


def imports(tree: ast.AST) -> Iterator[tuple[str, bool]]:
    """Every module imported, and whether inside a function."""

    def walk(node: ast.AST, inside: bool) -> Iterator[tuple[str, bool]]:
        for child in ast.iter_child_nodes(node):
            here = inside or isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            if isinstance(child, ast.Import):
                yield from ((alias.name, inside) for alias in child.names)
            elif isinstance(child, ast.ImportFrom):
                assert child.level == 0, "imports are absolute"
                yield child.module or "", inside
            else:
                yield from walk(child, here)

    return walk(tree, False)


def all_imports() -> list[tuple[Path, str, bool]]:
    return [
        (file, module, inside)
        for file in FILES
        for module, inside in imports(ast.parse(file.read_text(encoding="utf-8")))
    ]


def backward(room: str, other: str) -> bool:
    """Whether a room may not import from another one."""
    if room == other or other in ("", "_version"):
        return False
    if room == "simulate":
        return other not in SIMULATE_MAY_USE
    return ORDER[other] >= ORDER[room] or other == "simulate"


def test_every_room_has_its_place() -> None:
    assert {room_of(f) for f in FILES} - {"__init__"} <= set(ORDER)


def test_no_room_imports_from_a_room_to_its_right() -> None:
    wrong = []
    for file, module, _ in all_imports():
        if not module.startswith("lapwright") or room_of(file) == "__init__":
            continue
        other = module.split(".")[1] if "." in module else ""
        if backward(room_of(file), other):
            wrong.append(f"{file.relative_to(PACKAGE)} imports {module}")
    assert wrong == []


def test_no_import_hides_in_a_function() -> None:
    hidden = {
        (file.relative_to(PACKAGE).as_posix(), module)
        for file, module, inside in all_imports()
        if inside and not module.startswith(HEAVY)
    }
    assert hidden == set(HIDDEN)


def test_commands_imported_by_name_are_commands() -> None:
    # `cli/__init__.py` imports commands by name; the list may lead to no other place.
    from lapwright.cli import COMMANDS

    for module, _ in COMMANDS.values():
        room, *rest = module.removeprefix("lapwright.").split(".")
        assert room == "cli"
        assert PACKAGE.joinpath(room, *rest).with_suffix(".py").is_file()


def test_import_by_name_is_used_only_by_the_face_and_the_commands() -> None:
    users = {
        f.relative_to(PACKAGE).as_posix()
        for f in FILES
        if "import_module" in f.read_text(encoding="utf-8")
    }
    assert users == {"__init__.py", "cli/__init__.py"}


@pytest.mark.parametrize(
    ("room", "other", "wrong"),
    [
        ("motion", "geometry", True), ("geometry", "motion", False), ("cli", "batch", False),
        ("plots", "report", True), ("simulate", "motion", True), ("laps", "simulate", True),
        ("errors", "units", True),
    ],
)  # fmt: skip
def test_the_rule_itself(room: str, other: str, wrong: bool) -> None:
    assert backward(room, other) is wrong


def test_display_units_are_for_wording_and_what_comes_after_it() -> None:
    users = {
        file.relative_to(PACKAGE).as_posix()
        for file, module, _ in all_imports()
        if module == "lapwright.units" and ORDER.get(room_of(file), 0) < ORDER["wording"]
    }
    # The face names them, the settings remember a choice, a finding rounds seconds, and what is too
    # small to measure, which is one number for all, has no cause.
    assert users == {
        "__init__.py", "settings.py", "laps/findings/receiver_findings.py", "corners/why.py",
    }  # fmt: skip


def test_the_walk_sees_what_is_hidden() -> None:
    code = "import a\ndef f():\n    from b.c import d\n    x = lambda: __import__('e')\n"
    assert list(imports(ast.parse(code))) == [("a", False), ("b.c", True)]


def test_no_folder_is_a_crowd_and_no_file_a_room() -> None:
    folders = {f.parent for f in FILES}
    assert max(len(list(folder.glob("*.py"))) for folder in folders) <= 15  # 14 and __init__
    longest = {f.relative_to(PACKAGE).as_posix(): len(f.read_text().splitlines()) for f in FILES}
    assert max(longest.values()) <= 350
