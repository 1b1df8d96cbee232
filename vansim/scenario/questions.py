"""The ten questions that describe a van, and what each answer means; light to import, for a command's help."""

from __future__ import annotations

GROUPS: dict[str, tuple[str, ...]] = {
    "How large is the van?": ("length_m", "width_m", "height_m"),
    "How is it insulated?": ("walls", "roof", "floor"),
    "Which glass has it, and what covers the glass at night?": ("glazing", "covers"),
    "Which colour is it?": ("colour",),
    "Who sleeps in it?": ("people", "dogs_kg"),
    "What does the cooler's label say?": ("volts", "eco_a", "boost_a", "capacity_w"),
    "Which batteries has it?": ("bank_ah", "batteries", "chemistry"),
    "What charges them from the engine?": ("idle_a", "road_a"),
    "What else charges them, and is there a roof fan?": ("solar_w", "shore_a", "fan_m3_h"),
    "Where and when?": ("weather", "date", "bedtime", "waking", "setpoint_c", "limit_c", "shade"),
}
"""Ten questions, and the answers that each takes."""

WORDS: dict[str, str] = {
    "length_m": "Outside length, bumper to bumper: 6.9 m, 22 ft; or short, medium, long, extra-long (5, 5.5, 6, 7 m).",
    "width_m": "Outside width, without mirrors.",
    "height_m": "Height, ground to roof: 2.7 m, 9 ft; or low, medium, high, extra-high (2, 2.4, 2.7, 2.9 m).",
    "walls": "Insulation of walls and doors: 25 mm spray-foam, 1 in wool, 30 mm foam + 20 mm board; or none.",
    "roof": "Insulation of the roof. Left out: as the walls.",
    "floor": "Insulation of the floor.",
    "glazing": "Glass: none, cab, cab_and_door (a window in the sliding door too), cab_and_sides, all_round.",
    "covers": "What hangs before the glass at night: none, or one of `vansim parts covers`.",
    "colour": "Paint of the body: one of `vansim parts paints`.",
    "people": "How many sleep in the van.",
    "dogs_kg": "Dogs by their mass: 25 kg, 8 kg; or none.",
    "volts": "Voltage of batteries and cooler: 12, 24 or 48.",
    "eco_a": "Current of the cooler in eco, by its label or a clamp meter: 65 A.",
    "boost_a": "Current of the cooler flat out. Left out: 1.75 times that in eco.",
    "capacity_w": "Cooling flat out by the label, at 35 °C (95 °F) outside. Left out: estimated from the current.",
    "bank_ah": "Capacity of all batteries together: 600 Ah.",
    "batteries": "Number of batteries that make it up, side by side.",
    "chemistry": "lfp (lithium iron phosphate) or agm (lead-acid).",
    "idle_a": "Current from the alternator into the batteries while idling; 0 for none.",
    "road_a": "The same on the road.",
    "solar_w": "Panels on the roof: 400 W; 0 for none.",
    "shore_a": "Charger on shore power, current into the batteries; 0 for none.",
    "fan_m3_h": "Flow of the roof fan: 700 m3/h, 400 cfm; 0 for none.",
    "weather": "Typical-year file of the place, or one of the bundled, invented climates by name.",
    "date": "Evening on which the night begins, month and day: 07-15.",
    "bedtime": "From when it must stay cool: 22:00.",
    "waking": "Until when: 07:00.",
    "setpoint_c": "What the thermostat is set to: 24 degC, 75 degF.",
    "limit_c": "What the cabin must not get above at night: 26 degC, 79 degF.",
    "shade": "Share of the direct sun kept off by day: 0 in the open, 80% under trees.",
    "title": "Heading of every answer.",
    "label_outdoor_c": "Air outside at which the cooler draws those currents.",
    "label_cabin_c": "Air in the cabin at which it does.",
}
"""What each answer means, by its key."""
