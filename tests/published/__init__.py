"""Checks against the outside: standards, textbooks, measurements, libraries and rules of the trade."""
