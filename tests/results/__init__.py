"""The behaviour of the results room."""
