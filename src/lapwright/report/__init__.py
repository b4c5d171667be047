"""
The coach's report: one HTML file, a PDF, and every table as CSV and Parquet.

>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> import lapwright as lw
>>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
>>> with TemporaryDirectory() as folder:
...     files = lw.report.write_tables(session, folder)
>>> {"laps.csv", "passes.csv"} <= {file.name for file in files}
True
"""

from lapwright.report.html.page import write_html
from lapwright.report.pdf.document import write_pdf
from lapwright.report.tables import write_tables

__all__ = ["write_html", "write_pdf", "write_tables"]
