"""Tests of the season folder."""
