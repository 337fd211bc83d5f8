"""Workbooks: written, guarded and read. The only room that knows a spreadsheet library."""
