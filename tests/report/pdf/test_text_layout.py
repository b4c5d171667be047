"""Text on a sheet of the PDF: what is written is what is read back, whatever letters it has."""

import io

import pytest
from hypothesis import given, settings
from matplotlib.backends.backend_pdf import PdfPages
from nasty import NASTY, cannot_be_seen, texts
from pypdf import PdfReader

from lapwright.escaping.unseen import visible
from lapwright.report.pdf.sheet import Sheet
from lapwright.report.pdf.text_layout import in_font, width_in, wrapped


@given(texts)
def test_lines_have_only_letters_of_the_font_and_fit(text: str) -> None:
    said = in_font(text)
    assert cannot_be_seen(said) == []
    assert in_font(said) == said
    for line in wrapped(text, 9.5, 2.0):
        assert width_in(line, 9.5) <= 2.0 or len(line) == 1


@pytest.mark.filterwarnings("error")
@settings(max_examples=5, deadline=None)
@given(texts)
def test_a_sheet_is_written_without_a_complaint(text: str) -> None:
    assert read_back([text]) is not None


def read_back(said: list[str]) -> str:
    file = io.BytesIO()
    with PdfPages(file, metadata={"Title": visible("\n".join(said))}) as pages:
        sheet = Sheet(pages, f"Foot {said[0]}")
        for text in said:
            sheet.text(f"> {text} <")
            sheet.table([[text], ["n"]], [[text, "1"]], set())
        sheet.finish()
    return "\n".join(page.extract_text() for page in PdfReader(file).pages)


@pytest.mark.filterwarnings("error")
def test_nasty_texts_are_read_back_from_the_pdf() -> None:
    # pypdf gives the letters in their order; blanks between words are its own.
    read = "".join(read_back(list(NASTY)).split())
    for text in NASTY:
        said = "".join(in_font(text).split())
        assert f">{said}<" in read, text


def test_a_letter_that_the_font_lacks_is_a_question_mark() -> None:
    # DejaVu Sans has Greek, Cyrillic and Hebrew, and no Chinese characters.
    assert in_font("Zoë Ωμέγα Ирина \u9234\u9e7f") == "Zoë Ωμέγα Ирина ??"
    assert in_font("\x1b\u202e") == "[U+001B][U+202E]"
