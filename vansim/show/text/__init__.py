"""Words: every sentence that a person reads."""
