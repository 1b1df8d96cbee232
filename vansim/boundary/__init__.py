"""What is known before time runs: envelope and forcing, as arrays."""
