"""Raw entries in, typed records and problems out. Knows no spreadsheet library and no file."""
