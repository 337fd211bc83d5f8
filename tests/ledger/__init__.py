"""The behaviour of the ledger room."""
