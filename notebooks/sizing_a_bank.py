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

SEASON = "07-01..07-31"
van = vansim.load_scenario("../scenarios/desert-night.toml")
print(f"{van.title}: {van.bank.parallel} batteries of {van.bank.unit.capacity_ah:g} Ah in the offer as it stands")

# %% [markdown]
# ## The smallest bank, evening and night together
#
# The account of a night begins when cooling is first switched on, here at 18:30, with a full bank. The evening's
# pull-down is in it: a bank that is sized on the night alone is empty before bedtime.

# %%
sizing = vansim.size(van, target=0.95, season=SEASON)
found = sizing.table.iloc[0]
Image(vansim.plots.png(vansim.plots.bank_size(sizing), dpi=90))

# %%
fewer = sizing.curve[sizing.curve["parallel"] == found["parallel"] - 1].iloc[0]
print(
    f"{found['parallel']} batteries ({found['usable_kwh']:.1f} kWh down to a reserve of {found['reserve_soc']:.0%}, "
    f"{found['mass_kg']:.0f} kg) cover {found['covered_share']:.0%} of the nights; {fewer['parallel']} cover only "
    f"{fewer['covered_share']:.0%}.\nThe design night is {found['design_night']:%d %B}: "
    f"{found['design_bedtime_soc']:.0%} left at bedtime, {found['design_waking_soc']:.0%} at waking."
)
at_bedtime = vansim.size(van, target=0.95, season=SEASON, full_at_bedtime=True).table.iloc[0]
print(f"Counted from a full bank at bedtime, {at_bedtime['parallel']} would seem to do.")

# %% [markdown]
# What `size` names, a plain run confirms: its design night with this bank, and with one battery fewer.

# %%
day = {"run.date": f"{found['design_night']:%m-%d}"}
for parallel in (int(found["parallel"]), int(found["parallel"]) - 1):
    print(parallel, "batteries:", vansim.simulate(vansim.vary(van, {**day, "bank.parallel": parallel})).message)

# %% [markdown]
# ## A margin for a heat wave, and for an aged bank
#
# A typical year is put together from ordinary months: it holds no heat wave. And a bank gets old.

# %%
aged = vansim.vary(van, {"bank.state_of_health": 0.8})
cases = {
    "new bank, typical July": (van, None),
    "5 K hotter fortnight": (van, 5.0),
    "80 % of capacity left": (aged, None),
    "both": (aged, 5.0),
}
for name, (case, wave) in cases.items():
    row = vansim.size(case, target=0.95, season=SEASON, heat_wave=wave).table
    print(f"{name:26s} {row['parallel'].iloc[0]} batteries" if len(row) else f"{name:26s} no bank does it")

# %% [markdown]
# ## Does it come back by the evening?
#
# "Full at the first cooling" is a promise that somebody has to keep. The same bank, handed on from night to night:
# first with the panel on the roof alone, then with two hours on the road each morning.

# %%
chosen = vansim.vary(van, {"bank.parallel": int(found["parallel"])})
driving = {"day.at-the-camp.07:00.doing": "driving", "day.at-the-camp.07:00.speed_kmh": 80.0,
           "day.at-the-camp.07:00.window_open": False, "day.at-the-camp.07:00.fan": "off"}  # fmt: skip
stands = vansim.nights(chosen, season=SEASON)
drives = vansim.nights(vansim.vary(chosen, driving), season=SEASON)
for name, nights in {"stands, panel only": stands, "drives 2 h a day": drives}.items():
    print(
        f"{name:20s} independent {nights.independent.share:5.0%}   consecutive {nights.consecutive.share:5.0%}   "
        f"charge where accounts begin {nights.consecutive.table['start_soc'].mean():.0%}"
    )

# %%
for missing in stands.missing:
    unit = "W more panels" if missing.way == "solar" else "min a day more"
    amount = f"{missing.amount:.0f} {unit}" if missing.amount is not None else f"not even {missing.most:.0f} {unit}"
    print(f"{missing.way:8s} {amount}: {missing.share:.0%} of consecutive nights")

# %%
Image(vansim.plots.png(vansim.plots.calendar(drives), dpi=90))
