"""The behaviour of the weather room."""
