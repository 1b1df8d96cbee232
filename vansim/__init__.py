"""vansim: how long the cooling of a camper van runs on its battery, and what would make it last until morning."""

__version__ = "0.1.0"
