"""What is kept of a season: its folder, the events, and the ledger that is their replay."""
