"""Runs: from a scenario to a result, one or many."""
