"""Files that nobody should have to read: each is made in code, none is kept."""
