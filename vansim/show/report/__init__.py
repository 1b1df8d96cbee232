"""The report for the customer."""
