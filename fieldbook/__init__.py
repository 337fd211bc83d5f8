"""Scouting workbooks out, checked counts in, grower reports back.

The way of the data: read -> check -> ledger -> results -> report. DEVELOPERS.md walks along it.
"""

__version__ = "0.1.0"
