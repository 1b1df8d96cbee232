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
# **Invented customer, invented van, parts and climate.** "How many hours does it run?" asks the owner of a van with two
# 100 Ah batteries. There is no one number. This shows what the number hangs on, a July of nights in each line, every
# night begun with a full bank.
#
# **Never leave a child or an animal alone in a vehicle, whatever the cooling does.** Cooling stops without warning.

# %%
import numpy as np
import pandas as pd
from IPython.display import Image

import vansim
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.studies.nights import nights_alone
from vansim.studies.outage import after_reserve

SEASON = "07-01..07-31"
van = vary(vansim.load_scenario("../scenarios/desert-night.toml"), {"bank.parallel": 2})
base = nights_alone(van, season=SEASON)

# %% [markdown]
# ## How warm it is outdoors

# %%
Image(plots.png(plots.runtime_against_outdoors(base), dpi=90))

# %%
table, hours = base.table, base.distribution["runtime_h"]
slope = np.polyfit(table["outdoor_mean_c"], table["runtime_h"], 1)[0]
print(
    f"The same van, the same bank: {table['runtime_h'].min():.1f} to {table['runtime_h'].max():.1f} h, half of "
    f"the nights above {hours['p50']:.1f} h.\nEach degree that the night is warmer goes with {-slope:.1f} h less."
)

# %% [markdown]
# ## Sun, set point, covers, people
#
# One thing changed at a time. Sun and covers by day reach the night as warm contents and as sun before waking.

# %%
cooled = "day.at-the-camp.22:00"
changes = {
    "as it is": {},
    "80 % shade by day": {
        "day.at-the-camp.09:00.shade": 0.8,
        "day.at-the-camp.18:00.shade": 0.8,
        "day.at-the-camp.18:30.shade": 0.8,
    },
    "no covers at any time": {"day.at-the-camp.*.covers": False},
    "set point and limit 2 K higher": {"thermostat.setpoint_c": "+2", "night.limit_c": "+2"},
    "set point 2 K lower": {"thermostat.setpoint_c": "-2"},
    "four people": {"occupants.people": 4},
    "boost all night": {f"{cooled}.cooling": "boost"},
}
rows = {}
for name, change in changes.items():
    nights = nights_alone(vary(van, change), season=SEASON) if change else base
    rows[name] = {"runtime, nine nights in ten [h]": nights.distribution["runtime_h"]["p10"],
                  "runtime, half the nights [h]": nights.distribution["runtime_h"]["p50"],
                  "cooler a night [Wh]": nights.table["cooler_wh"].mean(),
                  "nights kept": nights.distribution["kept_share"]}  # fmt: skip
told = pd.DataFrame(rows).T
told.round(2)

# %%
change = (told["runtime, half the nights [h]"] - told.iloc[0, 1]).drop("as it is").sort_values()
for name, gained in change.items():
    print(f"{name:32s} {gained:+.1f} h")

# %% [markdown]
# ## And after the reserve
#
# The cooler stops, the van is shut, people are asleep. Then the same at noon in the sun. These times are no grace
# period.

# %%
night, sun = (after_reserve(van, when=when, season=SEASON) for when in ("night", "sun"))
Image(plots.png(plots.after_reserve(sun), dpi=90))

# %%
for hazard in (night, sun):
    print(hazard.story)
    start = hazard.series["cabin_c"].iloc[0]
    for minutes in (10, 30, 60):
        cabin = hazard.series["cabin_c"].loc[float(minutes)]
        print(f"  {minutes} min later the cabin is at {cabin:.0f} °C (from {start:.0f} °C)")
print()
print(sun.caution)
