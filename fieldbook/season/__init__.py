"""A season opened: books written, taken in, asked about, decided, and what was kept held whole."""
