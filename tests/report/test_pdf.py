"""The report on paper."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from lapwright.analysis import Session
from lapwright.report import write_pdf
from lapwright.report.material import Material
from lapwright.report.pdf import draw_pdf
from lapwright.units import Units


@pytest.fixture(scope="module")
def pdf(material: Material, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("pdf") / "debrief.pdf"
    # Two corners have all there is, in a fraction of the time.
    few = replace(material, corners=material.corners.iloc[[0, 3]], came_of_it=("Quicker.",))
    assert draw_pdf(few, path, Units("mph")) == path
    assert list(path.parent.iterdir()) == [path]
    return path.read_bytes()


def test_it_is_a_whole_pdf_of_a4_sheets(pdf: bytes) -> None:
    assert pdf.startswith(b"%PDF-")
    assert pdf.rstrip().endswith(b"%%EOF")
    boxes = re.findall(rb"/MediaBox \[ *0 0 ([\d.]+) ([\d.]+) *\]", pdf)
    assert len(boxes) >= 4
    for width, height in boxes:
        # ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 of 25.4 mm.
        assert float(width) == pytest.approx(210.0 / 25.4 * 72.0, abs=0.1)
        assert float(height) == pytest.approx(297.0 / 25.4 * 72.0, abs=0.1)


def test_letters_stay_letters(pdf: bytes) -> None:
    # ISO 32000-1, 9.6: Type 3 fonts are drawings; Type 0 with TrueType outlines can be searched.
    assert b"/Type3" not in pdf
    assert b"/Type0" in pdf


def test_an_older_file_survives_a_failure(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "debrief.pdf"
    target.write_bytes(b"older")
    msg = "broken off"

    def fail(*_: object) -> None:
        raise RuntimeError(msg)

    monkeypatch.setattr("lapwright.report.pdf._laps", fail)
    with pytest.raises(RuntimeError, match=msg):
        write_pdf(session, target)
    assert target.read_bytes() == b"older"
    assert list(tmp_path.iterdir()) == [target]
