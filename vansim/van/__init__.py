"""The van: cabin, people, cooler, bank, charging and loads; siblings that do not know each other."""
