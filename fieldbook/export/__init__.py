"""How results leave a season: JSON, lines, workbooks, CSV, Parquet."""
