"""The season folder: settings, roster, weather, kept originals, the ledger, results per field."""
