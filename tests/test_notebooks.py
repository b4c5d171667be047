"""Every notebook runs from top to bottom on the sample sessions, and shows its pictures."""

import re
from pathlib import Path

import pytest
from notebook_reading import wrong_in

ROOT = Path(__file__).parents[1]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
# Counted by hand in the notebooks: cells that draw, and cells that end in a whole lap.
PICTURES = {"01_after_a_session": 0, "02_a_weekend": 3, "03_coach_report": 7}
FRAMES = {"01_after_a_session": 2, "02_a_weekend": 0, "03_coach_report": 0}

nbformat = pytest.importorskip("nbformat", reason="the extra 'test' brings nbformat")
nbclient = pytest.importorskip("nbclient", reason="the extra 'test' brings nbclient")
pytest.importorskip("ipykernel", reason="the extra 'test' brings ipykernel")


def test_there_are_three() -> None:
    assert [path.stem for path in NOTEBOOKS] == sorted(PICTURES)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_outputs_are_not_kept_in_the_file(path: Path) -> None:
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_only_the_public_face_is_used(path: Path) -> None:
    code = "\n".join(
        cell.source for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"
    )
    assert "import lapwright as lw" in code
    assert not re.search(r"from lapwright|import lapwright\.", code)


@pytest.mark.slow
@pytest.mark.usefixtures("cached")
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
@pytest.mark.parametrize("folder", ["notebooks", "."])
def test_runs_offline_and_shows_pictures(
    path: Path, folder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if folder == "." and path != NOTEBOOKS[0]:
        pytest.skip("they find the logs alike; one from the root is enough")
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "1")
    before = _sample_files()
    book = nbformat.read(path, as_version=4)
    client = nbclient.NotebookClient(
        book, timeout=300, resources={"metadata": {"path": str(ROOT / folder)}}
    )
    client.execute()  # raises where a cell does
    outputs = [out for cell in book.cells if cell.cell_type == "code" for out in cell.outputs]
    pictures = [out for out in outputs if "image/png" in out.get("data", {})]
    assert len(pictures) == PICTURES[path.stem]
    frames = [out for out in outputs if "<iframe" in out.get("data", {}).get("text/html", "")]
    assert len(frames) == FRAMES[path.stem]
    # What a notebook grows by when it is saved; `lapwright.show` promises so much a cell.
    assert all(len(out["data"]["text/html"].encode()) < 300_000 for out in frames)
    complaints = [out.text for out in outputs if out.get("name") == "stderr"]
    # A kernel may remark on its own transport; our code has nothing to complain of.
    assert not [text for text in complaints if re.search(r"warn|error", text, re.IGNORECASE)]
    assert _sample_files() == before
    # Here, so that no notebook runs twice.
    assert wrong_in(path.stem, book) == []


def _sample_files() -> dict[str, bytes]:
    folder = ROOT / "sample_sessions"
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
