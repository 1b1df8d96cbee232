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
# # Explaining runtime to a customer
#
# **Invented customer, invented van, parts and climate.** "How many hours does it run?" asks the owner of a van with six
# 100 Ah batteries. There is no one number. This shows what the number hangs on: a July of nights in each line, each
# begun with a full bank when cooling is first switched on, at 18:30.
#
# **Never leave a child or an animal alone in a vehicle, whatever the cooling does.** Cooling stops without warning.

# %%
import numpy as np
import pandas as pd
from IPython.display import Image

import vansim

SEASON = "07-01..07-31"
van = vansim.load_scenario("../scenarios/desert-night.toml")
base = vansim.nights(van, season=SEASON)

# %% [markdown]
# ## How warm it is outdoors

# %%
Image(vansim.plots.png(vansim.plots.runtime_against_outdoors(base), dpi=90))

# %%
table = base.independent.table
slope = np.polyfit(table["outdoor_mean_c"], table["runtime_h"], 1)[0]
print(
    f"The same van, the same bank: {table['runtime_h'].min():.1f} to {table['runtime_h'].max():.1f} h from bedtime, "
    f"half of the nights above {base.independent.runtime_h(0.5):.1f} h.\n"
    f"Each degree that the night is warmer goes with {-slope:.1f} h less."
)

# %% [markdown]
# ## Sun, set point, covers, people
#
# One thing changed at a time. Sun and covers by day reach the night as the evening's pull-down, as warm contents, and
# as sun before waking.

# %%
changes = {
    "80 % shade by day": {
        "day.at-the-camp.09:00.shade": 0.8,
        "day.at-the-camp.18:00.shade": 0.8,
        "day.at-the-camp.18:30.shade": 0.8,
    },
    "no covers at any time": {"day.at-the-camp.*.covers": False},
    "set point and limit 2 K higher": {"thermostat.setpoint_c": "+2", "night.limit_c": "+2"},
    "set point 2 K lower": {"thermostat.setpoint_c": "-2"},
    "four people": {"occupants.people": 4},
    "boost all night": {"day.at-the-camp.22:00.cooling": "boost"},
}
compared = vansim.compare(van, variants=changes, season=SEASON, judged="independent").table
names = {
    "runtime_p10_h": "runtime, nine nights in ten [h]",
    "runtime_p50_h": "runtime, half the nights [h]",
    "evening_wh": "evening [Wh]",
    "cooler_wh": "cooler, night [Wh]",
    "covered_share": "nights covered",
}
compared[list(names)].rename(columns=names).round(2)

# %%
for name, gained in compared["gained_p50_h"].drop("as it is").sort_values().items():
    print(f"{name:32s} {gained:+.1f} h")

# %% [markdown]
# ## And when the cooling stops
#
# The cooler stops, the van is shut, people are asleep. Then the same at noon in the sun. These times are no grace
# period.

# %%
empty = vansim.outage(van, season=SEASON)
sun = vansim.outage(van, when="sun", season=SEASON)
Image(vansim.plots.png(vansim.plots.outage(sun), dpi=90))

# %%
rows = {}
for found in (empty, sun):
    for course in found.courses:
        cabin = course.series["cabin_c"]
        name = f"{found.moment:%d %B, %H:%M}, covers {'up' if course.covers else 'off'}"
        rows[name] = {f"after {minutes} min [°C]": cabin.loc[float(minutes)] for minutes in (0, 10, 30, 60)}
print("Never leave a child or an animal alone in a vehicle: cooling stops without warning.")
pd.DataFrame(rows).T.round(0)
