"""A grower's report of one field: one HTML page, and the same as PDF."""

from fieldbook.report.page import field_page
from fieldbook.report.pdf import page_pdf, pdf_missing

__all__ = ["field_page", "page_pdf", "pdf_missing"]
