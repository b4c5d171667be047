"""`lapwright weekend --report`: where the page goes, and what it is told of each session."""

import itertools
from pathlib import Path

from lapwright.batch import Weekend, logs_in, write_weekend_report
from lapwright.batch.weekend_report import PAGE_ENDINGS, PDF_ENDINGS, check_report_targets
from lapwright.cli.options import Choice
from lapwright.cli.previous import came_of_it
from lapwright.cli.printing import say
from lapwright.cli.printing.progress import logs_done
from lapwright.ingest.archive import folder_of
from lapwright.notes.check import notes_oddities
from lapwright.notes.weekend_notes import FILE_NAME
from lapwright.outputs import check_ending
from lapwright.report.weekend.session_facts import CameOf
from lapwright.session import Session

# Among the results, where no other name is given.
PAGE_NAME = "weekend_report.html"


def checked_page(
    report: str | None, pdf: Path | None, folder: Path, out: Path | None
) -> Path | None:
    """
    Say where the page goes, and refuse what cannot be written before the work.

    Parameters
    ----------
    report : str or None
        As given: a file, empty for the usual one, None where the page was not asked for.
    pdf : Path or None
    folder : Path
        Of the logs.
    out : Path or None
        Of the results, where it was given.

    Returns
    -------
    Path or None
        None where the page was not asked for.

    Raises
    ------
    OutputError
        If page or PDF would take the place of an input, or has another ending.
    LogError
        If there is no log in the folder.
    """
    results = folder / "results" if out is None else out
    page = None if report is None else Path(report) if report else results / PAGE_NAME
    check_ending(page, PAGE_ENDINGS)
    check_ending(pdf, PDF_ENDINGS)
    if page is None and pdf is None:
        return None
    # The folder of the results is made by the work.
    later = None if results.exists() else results.resolve()
    there = [None if f is None or f.resolve().parent == later else f for f in (page, pdf)]
    check_report_targets(folder, logs_in(folder), *there)
    return page


def write_pages(weekend: Weekend, page: Path | None, pdf: Path | None, choice: Choice) -> None:
    """
    Write page and PDF, where they were asked for.

    Parameters
    ----------
    weekend : Weekend
    page, pdf : Path or None
    choice : Choice
    """
    if page is None and pdf is None:
        return
    units = say.units_for(choice.units, weekend.folder, as_json=choice.as_json)
    total, done = len(weekend.jobs), itertools.count(1)

    def came(session: Session) -> CameOf:
        found = came_of_it(session, units, aloud=False)
        # Said once of each folder, not with every session.
        odd = set(notes_oddities(folder_of(session.log.path) / FILE_NAME))
        return CameOf(found.name, tuple(text for text in found.texts if text not in odd))

    with choice.progress.step(logs_done(0, total)) as show:
        write_weekend_report(
            weekend, page, pdf, units, came,
            lambda path: show(logs_done(min(next(done), total), total)),
        )  # fmt: skip
