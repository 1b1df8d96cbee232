"""Tests of what is shown."""
