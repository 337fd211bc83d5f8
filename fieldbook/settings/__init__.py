"""What a person sets for a season: ``season.toml``, read into one frozen record."""
