"""No file is ever run: nothing in the library turns text or bytes of a user into code."""

import ast
from pathlib import Path

import pytest

import lapwright

PACKAGE = Path(lapwright.__file__).parent
# What runs, imports or rebuilds what a file says (Python's documentation warns of each of them).
CALLS = {
    "eval", "exec", "compile", "__import__", "os.system", "os.popen", "read_pickle", "to_pickle",
    "pd.read_pickle", "pd.eval", "input", "breakpoint",
}  # fmt: skip
MODULES = {
    "pickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "yaml", "code", "codeop",
    "xmlrpc", "urllib.request", "http.client", "socket", "ftplib", "telnetlib", "ctypes",
}  # fmt: skip
# Where somebody asks for it: fixes that come now, and a page for a phone at the wall.
ALLOWED = {("live_session/receiving/sources.py", "socket"), ("cli/live/page.py", "socket")}


def dangers(tree: ast.AST) -> list[str]:
    """What in a module runs what it is given, or goes out of the computer."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            # `re.compile` makes a pattern, `query` and `eval` of a table run an expression.
            if name in CALLS or name.endswith((".eval", ".read_pickle", ".to_pickle")):
                found.append(f"{node.lineno}: {name}()")
            found += [
                f"{node.lineno}: {one.arg}={ast.unparse(one.value)}"
                for one in node.keywords
                if one.arg in ("shell", "allow_pickle") and ast.unparse(one.value) != "False"
            ]
            if name in ("np.load", "numpy.load") and "allow_pickle" not in ast.unparse(node):
                found.append(f"{node.lineno}: {name}() without allow_pickle=False")
        elif isinstance(node, ast.Import):
            found += [f"{node.lineno}: {a.name}" for a in node.names if a.name in MODULES]
        elif isinstance(node, ast.ImportFrom) and node.module in MODULES:
            found.append(f"{node.lineno}: {node.module}")
    return found


def test_nothing_in_the_library_runs_what_it_reads() -> None:
    found = {
        f"{file.relative_to(PACKAGE)}:{one}"
        for file in PACKAGE.rglob("*.py")
        for one in dangers(ast.parse(file.read_text(encoding="utf-8")))
        if (file.relative_to(PACKAGE).as_posix(), one.split(": ")[1]) not in ALLOWED
    }
    assert found == set()


@pytest.mark.parametrize(
    "code",
    [
        "eval(text)", "exec(text)", "import pickle", "from pickle import loads",
        "subprocess.run(x, shell=True)", "np.load(file)", "np.load(file, allow_pickle=True)",
        "table.eval(text)", "pd.read_pickle(file)", "import socket", "from urllib.request import a",
    ],
)  # fmt: skip
def test_a_danger_is_seen(code: str) -> None:
    assert dangers(ast.parse(code))


def test_a_pattern_is_no_danger() -> None:
    assert dangers(ast.parse("re.compile(text); np.load(file, allow_pickle=False)")) == []
