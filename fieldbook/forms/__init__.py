"""The declarations: one module a sheet, and rounds that group them."""
