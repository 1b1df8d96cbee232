"""What it means over many nights and several designs."""
