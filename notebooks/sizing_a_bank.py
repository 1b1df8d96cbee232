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
# # Sizing a bank for sleeping in a hot climate
#
# **Invented customer, invented van, parts and climate.** Two people sleep in a high-roof van in the desert in July. The
# van stands in the sun all day with covers up; cooling starts at 18:30, bed is at ten, waking at seven. They ask: *how
# many 100 Ah batteries?*
#
# *Never leave a child or an animal alone in a vehicle, whatever the cooling does. Lithium batteries and currents of a
# hundred amperes are for somebody licensed to fit them; local codes and makers' instructions come first.*

# %%
from IPython.display import Image

import vansim
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.studies.nights import nights_alone, nights_chained
from vansim.studies.sizing import size

SEASON = "07-01..07-31"
van = vansim.load_scenario("../scenarios/desert-night.toml")
print(f"{van.title}: {van.bank.parallel} batteries of {van.bank.unit.capacity_ah:g} Ah in the offer as it stands")

# %% [markdown]
# ## The smallest bank, if every night begins full

# %%
keep = size(van, keep=0.95, season=SEASON)
found = keep.table.iloc[0]
Image(plots.png(plots.bank_size(keep), dpi=90))

# %%
below = keep.curve[keep.curve["parallel"] == found["parallel"] - 1].iloc[0]
print(
    f"{found['parallel']} batteries ({found['usable_kwh']:.1f} kWh down to a reserve of {found['reserve_soc']:.0%}, "
    f"{found['mass_kg']:.0f} kg) keep {found['kept_share']:.0%} of the nights; {below['parallel']} keep only "
    f"{below['kept_share']:.0%}.\nThe night that binds is {found['binding_night']:%d %B}: "
    f"{found['binding_runtime_h']:.1f} h from bedtime, {found['binding_waking_soc']:.0%} left at waking."
)

# %% [markdown]
# ## A margin for a heat wave, and for an aged bank
#
# A typical year is put together from ordinary months: it holds no heat wave. And a bank gets old.

# %%
cases = {
    "new bank, typical July": (van, None),
    "5 K hotter fortnight": (van, 5.0),
    "80 % of capacity left": (vary(van, {"bank.state_of_health": 0.8}), None),
    "both": (vary(van, {"bank.state_of_health": 0.8}), 5.0),
}
for name, (case, wave) in cases.items():
    row = size(case, keep=0.95, season=SEASON, heat_wave=wave).table
    told = f"{row['parallel'].iloc[0]} batteries" if len(row) else "no bank does it"
    print(f"{name:26s} {told}")

# %% [markdown]
# ## Does it come back by the evening?
#
# "Full at bedtime" is a promise somebody has to keep. Here the same bank is handed on from night to night, first with
# the panel on the roof alone, then with two hours on the road each morning.

# %%
chosen = vary(van, {"bank.parallel": int(found["parallel"])})
driving = {"day.at-the-camp.07:00.doing": "driving", "day.at-the-camp.07:00.speed_kmh": 80.0,
           "day.at-the-camp.07:00.window_open": False, "day.at-the-camp.07:00.fan": "off"}  # fmt: skip
alone = nights_alone(chosen, season=SEASON)
stands = nights_chained(chosen, season=SEASON)
drives = nights_chained(vary(chosen, driving), season=SEASON)
for name, nights in {"full every bedtime": alone, "stands, panel only": stands, "drives 2 h a day": drives}.items():
    told = nights.distribution
    charge = nights.table["bedtime_soc"].mean()
    print(f"{name:20s} kept {told['kept_share']:5.0%}   mean charge at bedtime {charge:.0%}")

# %%
Image(plots.png(plots.calendar(drives), dpi=90))

# %%
in_a_row = size(vary(van, driving), keep=0.95, season=SEASON, chained=True)
told = (
    f"{in_a_row.table['parallel'].iloc[0]} batteries, driving two hours a day" if len(in_a_row.table)
    else in_a_row.failed["words"].iloc[0]
)  # fmt: skip
early = van.bank.parallel
print(f"For nights in a row: {told}.")
print(f"The pre-cooling from 18:30 is in that number: it is paid before bedtime. The offer as it stands has {early}.")
for note in in_a_row.notes:
    print("-", note)
