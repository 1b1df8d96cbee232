"""How it is shown: words, pictures and the report."""
