# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # Eco against boost
#
# **Invented customer, invented van, parts and climate.** A customer runs the cooler flat out all night, "to get
# it over with", and wonders why the bank is low in the morning. The same hot evening, three ways.
#
# *Never leave a child or an animal alone in a vehicle, whatever the cooling does.*

# %%
import matplotlib.pyplot as plt
import pandas as pd
from IPython.display import Image

import vansim

van = vansim.load_scenario("../scenarios/desert-night.toml")


def mode(name):
    return {"day.at-the-camp.18:30.cooling": name, "day.at-the-camp.22:00.cooling": name}


runs = {name: vansim.simulate(vansim.vary(van, mode(name))) for name in ("eco", "boost", "boost_then_eco")}

# %% [markdown]
# ## The evening and the night

# %%
Image(vansim.plots.png(vansim.plots.eco_against_boost(runs["eco"], runs["boost"]), dpi=90))

# %%
soak = vansim.compare(van, variants={name: mode(name) for name in runs}, season="07-15..07-15").table
rows = {}
for name, result in runs.items():
    night = result.night(0).row
    hours = result.hourly.between_time("22:00", "06:59")
    heat_wh = -(hours["sensible_w"] + hours["latent_w"]).sum()
    rows[name] = {
        "from 55 °C to the limit [min]": soak.loc[name, "cool_down_min"],
        "evening, all [Wh]": night["evening_wh"],
        "cooler, night [Wh]": night["cooler_wh"],
        "starts": night["starts"],
        "running": night["duty"],
        "heat removed [Wh]": heat_wh,
        "heat per electricity": heat_wh / night["cooler_wh"],
        "charge at waking": night["waking_soc"],
    }
table = pd.DataFrame(rows).T.round(2)
table

# %%
eco, boost, both = (table.loc[name] for name in runs)
print(
    f"Boost needs {boost['from 55 °C to the limit [min]']:.0f} min from a hot soak where eco needs "
    f"{eco['from 55 °C to the limit [min]']:.0f}. Through the night it takes "
    f"{boost['cooler, night [Wh]'] / eco['cooler, night [Wh]'] - 1:.0%} more electricity, for "
    f"{boost['heat removed [Wh]'] / eco['heat removed [Wh]'] - 1:.0%} more heat.\n"
    f"It starts {boost['starts']:.0f} times against {eco['starts']:.0f}. Boost until cool, then eco takes "
    f"{both['evening, all [Wh]']:.0f} Wh in the evening against {eco['evening, all [Wh]']:.0f} in eco, and wakes with "
    f"{both['charge at waking']:.0%} where eco has {eco['charge at waking']:.0%} and boost "
    f"{boost['charge at waking']:.0%}."
)

# %% [markdown]
# ## Why: the lift falls with the flow
#
# A compressor lifts heat from the coil's temperature to the condenser's. The exchangers stay the same size; the less
# heat goes through them, the smaller the steps of temperature between air and refrigerant, so the smaller the lift.
# Here only the compressor's speed is changed, both air flows held at full; then with eco's slower fans as well.

# %%
speeds = (0.4, 0.7, 1.0)
full_air = {"cooler.eco.coil_air": 1.0, "cooler.eco.condenser_air": 1.0}
found = []
for speed in speeds:
    for fans, air in (("fans full", full_air), ("eco's fans", {})):
        result = vansim.simulate(vansim.vary(van, {**mode("eco"), "cooler.eco.compressor": speed, **air}))
        hours = result.hourly.between_time("22:00", "06:59")
        heat = -(hours["sensible_w"] + hours["latent_w"]).sum()
        found.append({"speed": speed, "fans": fans, "heat per electricity": heat / hours["cooler_w"].sum(),
                      "supply_c": hours["supply_c"].mean(), "wh": hours["cooler_w"].sum()})  # fmt: skip
sweep = pd.DataFrame(found).pivot(index="speed", columns="fans")
figure, axes = plt.subplots(1, 2, figsize=(8, 3), dpi=80, layout="constrained")
names = {"heat per electricity": "heat per electricity", "supply_c": "supply air [°C]"}
for ax, (name, label) in zip(axes, names.items(), strict=True):
    for fans, style in (("fans full", "-"), ("eco's fans", "--")):
        ax.plot(sweep.index, sweep[name][fans], style, marker="o", label=fans)
    ax.set_xlabel("compressor speed, share of full")
    ax.set_title(label, fontsize=10)
axes[0].legend()
plt.show()

# %%
full = sweep["heat per electricity"]["fans full"]
supply = sweep["supply_c"]["fans full"]
print(
    f"Fans at full: {full[1.0]:.2f} Wh of heat for each Wh at full speed, {full[0.4]:.2f} at 40 % of it. The supply "
    f"air rises from {supply[1.0]:.1f} to {supply[0.4]:.1f} °C: the coil need not be so cold."
)
gain = sweep["heat per electricity"]["eco's fans"] - full
print(
    f"Slowing the fans too (their power falls with the cube of the flow) changes that by {gain[0.4]:+.2f} at 40 % "
    f"and {gain[1.0]:+.2f} at full speed: less fan power against a colder coil and a hotter condenser."
)
