"""The coach's report: one HTML file, a PDF, and every table as CSV and Parquet."""

from lapwright.report.html.page import write_html
from lapwright.report.pdf.document import write_pdf
from lapwright.report.tables import write_tables

__all__ = ["write_html", "write_pdf", "write_tables"]
