"""The behaviour of the settings room."""
