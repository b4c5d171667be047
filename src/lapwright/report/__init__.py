"""The coach's report: one HTML file, a PDF, and every table as CSV and Parquet."""

from lapwright.report.page import write_html
from lapwright.report.pdf import write_pdf
from lapwright.report.tables import write_tables

__all__ = ["write_html", "write_pdf", "write_tables"]
