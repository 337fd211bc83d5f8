"""The behaviour of the export room."""
