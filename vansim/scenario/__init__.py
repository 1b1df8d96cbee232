"""What is asked: a van, its people, its place and its days, read from a file, varied, and laid out in time."""
