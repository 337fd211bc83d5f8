"""The weather of a season: station files read, joined, held against sense, as temperatures."""
