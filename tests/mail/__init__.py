"""Tests of messages in and out."""
