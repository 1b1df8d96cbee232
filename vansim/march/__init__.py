"""Time passes: forcing as arrays, the kernel that marches, and the result that is read."""
