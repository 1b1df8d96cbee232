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
# # What was checked, against what, and how close it came
#
# Every number below is compared with something outside this project: a standard, a textbook, a measurement, another
# library, or a rule of the trade. The same rows run as tests (`tests/published`); nothing is computed here that is not
# computed there. A tolerance has its reason in the row. What disagrees is shown; what could not be checked is listed at
# the end.
#
# The van parts and climates used are invented. *Never leave a child or an animal alone in a vehicle, whatever the
# cooling does.*

# %%
import sys
import textwrap
import warnings
from importlib import import_module
from pathlib import Path

sys.path.insert(0, str(Path.cwd().parent))
warnings.simplefilter("ignore")

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import vansim
from tests.support import draw
from tests.support.bench import read
from tests.support.subjects import ELSEWHERE, NOT_COVERED, SUBJECTS, everything

draw.style()
pd.set_option("display.width", 160, "display.max_colwidth", None, "display.max_rows", 100)
checks = everything({subject: import_module(f"tests.published.{name}") for subject, name in SUBJECTS.items()})
binding = checks[checks["binds"]]
off = checks[checks["tolerance"].notna() & ~checks["agrees"]]
print(f"{len(checks)} rows; {len(binding)} can fail the build, {int(binding['agrees'].sum())} of them agree")
print(f"{len(off)} with a tolerance disagree; {int(checks['tolerance'].isna().sum())} are stated without a tolerance")


def subject(name):
    draw.residuals(checks[checks["subject"] == name], name)
    plt.show()


# %% [markdown]
# ## On one page, for those who fit vans
#
# What was asked of the program, how many published figures it was held against, and how close it came. *Agree* counts
# figures within the error that is allowed for each, which stands with its reason further down: a few hundredths where a
# published formula is worked again, up to the spread of the days where a closed car was measured. Rows from memory are
# left out.

# %%
ASKED = {
    "Does the sun heat the shell as it should?": (
        "Where the sun stands", "Sol-air temperature", "Sky radiation", "Ground"
    ),
    "How much heat comes through walls and gaps?": (
        "U-values and films", "Layered walls, hour by hour", "Air exchange", "Step, sine and thermostat"
    ),
    "How hot does a closed vehicle get?": ("A closed car in the sun",),
    "What do people and dogs give off, and when is it too hot?": ("People and dogs", "Heat lines"),
    "How much does the cooler draw for its cooling?": ("Moist air", "Ideal cycle", "Compressor", "Coil", "Cycling"),
    "How long does the bank last, how soon is it full?": ("Bank", "Lead-acid", "Charging"),
    "Are design days and years to come what their sources say?": ("Design days", "Years to come"),
    "Do the rules of the trade come out?": ("Rules of the trade",),
}  # fmt: skip
DEGREES = ("°C", "degC", "C", "K")
page = []
for question, names in ASKED.items():
    rows = binding[binding["subject"].isin(names)]
    kelvin = rows.loc[rows["unit"].isin(DEGREES), "error"].abs()
    used = (rows["error"].abs() / rows["tolerance"])[rows["tolerance"] > 0.0]
    page.append({
        "asked": question,
        "figures": len(rows),
        "agree": int(rows["agrees"].sum()),
        "temperatures: nine in ten within": f"{kelvin.quantile(0.9):.2f} K" if len(kelvin) else "–",
        "of the error allowed: half use up to": f"{used.quantile(0.5):.0%}",
        "the worst uses": f"{used.max():.0%}",
    })  # fmt: skip
assert sum(row["figures"] for row in page) == len(binding)
pd.DataFrame(page).set_index("asked")

# %% [markdown]
# **What is not known**, because nothing open was found to hold it against:

# %%
for line in NOT_COVERED[:5]:
    print("\n  ".join(textwrap.wrap(f"- {line}", 100, break_long_words=False)))

# %% [markdown]
# So: trust comparisons (this bank or that, shade or none) more than any single hour. Before a customer relies on a
# night, clamp the cooler's amps in eco and in boost and log the cabin over one evening; where they differ from
# `vansim run`, the meter is right and the description of the van is to be mended.
#
# The long tables follow, subject by subject.

# %% [markdown]
# ## The warm-up of a closed car: the one measurement of the whole cabin model
#
# Null (2003) closed a dark sedan in full sun on 12 days and wrote down the air inside. The car was described from its
# geometry and the tables of materials, paints and glass before the comparison; nothing was fitted. The model is within
# 2 K of the measured mean at every moment.

# %%
from tests.published import test_parked_car as car

measured, modelled = car.measured_k(), car.modelled_k()
mean, spread = measured.mean(axis=0), measured.std(axis=0, ddof=1)
figure = draw.series(
    car.MINUTES,
    mean,
    modelled.mean(axis=0),
    {"title": "Rise of the air in a closed dark sedan: the model is within 2 K", "x": "minutes in the sun",
     "y": "rise above outdoor air [K]", "outside": "mean of 12 days, band of two standard deviations",
     "ours": "car as described, nothing fitted"},
    band=2 * spread,
)  # fmt: skip
for day in measured:
    figure.axes[0].plot(car.MINUTES, day, color=draw.THEIRS, lw=0.5, alpha=0.5)
for one in car.cloud():
    figure.axes[0].plot(car.MINUTES, one, color=draw.OURS, lw=0.4, alpha=0.3)
plt.show()
bias = pd.DataFrame(
    {"measured_k": mean, "spread_k": spread,
     "model_k": modelled.mean(axis=0), "bias_k": (modelled - measured).mean(axis=0),
     "cloud_mean_k": car.cloud().mean(axis=0), "cloud_spread_k": car.cloud().std(axis=0)},
    index=pd.Index(car.MINUTES, name="minutes"),
).round(1)  # fmt: skip
bias

# %% [markdown]
# Is the agreement luck? Each unknown of the car at the ends of its plausible range, the others at their middle; thin
# lines above are forty cars with all of them drawn at random. Glass, stored heat and wind matter most.

# %%
swing = car.sensitivity()[60].drop("as described", level=0)
low, high = swing.groupby(level=0, sort=False).min(), swing.groupby(level=0, sort=False).max()
order = (high - low).sort_values().index
figure, axes = plt.subplots(figsize=(8.2, 3.6))
axes.axvspan(mean[3] - 2 * spread[3], mean[3] + 2 * spread[3], color=draw.SOFT, lw=0)
axes.axvline(mean[3], color=draw.THEIRS)
axes.barh(order, (high - low)[order], left=low[order], color=draw.OURS, height=0.55)
axes.axvline(modelled[:, 3].mean(), color=draw.INK, lw=0.7)
axes.set_xlabel("rise after 60 min [K]; blue: measured mean, grey: two standard deviations")
axes.set_title("No single unknown moves the rise after an hour by more than 8 K")
plt.show()
subject("A closed car in the sun")

# %% [markdown]
# ## Sun, sky and shell

# %%
from tests.published import test_sol_air

s = test_sol_air.series()
draw.series(
    np.arange(1, 25), s["published"], s["our light"],
    {"title": "Sol-air temperature of a west wall, clear 21 July, 40 N", "x": "solar hour", "y": "°C",
     "outside": "published series (Wang & Chen 2003)", "ours": "our sun, sky and equation"},
)  # fmt: skip
plt.show()
subject("Where the sun stands")
subject("Sky radiation")
subject("Ground")
subject("Design days")
subject("Years to come")
print("glass away from the films of its declaration: what the pane absorbs comes in by its films of the moment")
subject("U-values and films")

# %% [markdown]
# ### Faces without mass
#
# The model lets heat pass a face at once. On masonry that is wrong by half of the peak, as the published fluxes show; a
# van's walls lag by 0.1 h (bare) to 0.9 h (80 mm of foam) and keep over 99 % of the daily swing.

# %%
from tests.published import test_layered_walls as walls

d = walls.driven()
draw.series(
    np.arange(1, 25), d["iv published"], d["iv massless"],
    {"title": "Brick and concrete: a massless face is wrong", "x": "hour", "y": "W/m²",
     "outside": "published hourly flow, wall IV", "ours": "massless face"},
)  # fmt: skip
plt.show()
left = vansim.library().part("cabins", "high-roof-50mm").faces["left"]
slabs = walls.slabs(left, "left")
draw.series(
    np.arange(1, 25), walls.flow(slabs, d["sol_air_c"], 24.0), walls.u_of(slabs) * (d["sol_air_c"] - 24.0),
    {"title": "A van's wall, 50 mm of wool: nearly right", "x": "hour", "y": "W/m²",
     "outside": "exact, with mass (transfer matrix)", "ours": "massless face"},
)  # fmt: skip
plt.show()
subject("Layered walls, hour by hour")
subject("Air exchange")

# %% [markdown]
# ## The cabin in closed form

# %%
subject("Step, sine and thermostat")

# %% [markdown]
# ## People, dogs, and the lines that warn

# %%
from tests.published import test_hazard_lines as hazard

chart = np.array(hazard.chart())
draw.parity(
    chart[:, 2], chart[:, 3], [f"{rh:.0f} %" if rh in (40, 60, 80) else "other humidity" for rh in chart[:, 1]],
    {"title": "Heat index against the printed chart", "x": "chart [°F]", "y": "ours [°F]"},
)  # fmt: skip
plt.show()
print("people give off moisture in the cold too: a quarter of their heat at least (ISO 7730 terms)")
subject("People and dogs")
subject("Heat lines")

# %% [markdown]
# ## Moist air and the cooling machine

# %%
from tests.published import test_ideal_cycle, test_moist_air

c = test_moist_air.compared().dropna()
draw.parity(
    c["real_w"] * 1e3, c["ours_w"] * 1e3, np.where(c["t"] > 25, "above 25 °C", "below 25 °C"),
    {"title": "Humidity ratio against a real gas (CoolProp): a perfect gas lies 0.2 to 0.6 % low",
     "x": "CoolProp [g/kg]", "y": "ours [g/kg]"},
)  # fmt: skip
plt.show()
g = test_ideal_cycle.grid()
draw.parity(
    g["cop"], g["ours"], g["fluid"],
    {"title": "COP of the ideal cycle over 28 conditions of three refrigerants", "x": "CoolProp", "y": "ours"},
)  # fmt: skip
plt.show()
subject("Moist air")
subject("Ideal cycle")
print(
    "the condenser of a fitted cooler draws in air that is 1 K warmer than the air around (assumed, a key of the part)"
)
subject("Compressor")
subject("Coil")

# %%
from tests.published import test_cycling

table = read("cycling")
ours = [
    test_cycling.cycle(float(r.tau_s), float(r.n_max_per_h), r.x * r.plf * 2000.0)["plf"] for r in table.itertuples()
]
draw.parity(
    table["plf"], ours, [f"start-up {tau:.0f} s" for tau in table["tau_s"]],
    {"title": "Part-load factor of whole cycles against the law: short cycles come out better",
     "x": "law", "y": "ours"},
)  # fmt: skip
plt.show()
subject("Cycling")

# %% [markdown]
# ## Bank and charging

# %%
from tests.published import test_bank

t, v = read("lfp_discharge"), test_bank.terminal_v()
figure, above, below = draw.panes(
    "Terminal voltage of an LFP cell against a cell model (PyBaMM, stored numbers)", "ours less\nmodel"
)
for name, colour in zip(test_bank.RATES, ("#2f6f8f", "#4c8c6b", "#b08a2e", "#b4552d"), strict=True):
    above.plot(t["dod"], t[name], "o", ms=3, color=colour)
    above.plot(t["dod"], v[name], color=colour, label=name.replace("c", "") + " C")
    below.plot(t["dod"], v[name] - t[name], color=colour, lw=1)
above.set_ylabel("V per cell (points: cell model)")
above.legend(fontsize=8)
below.set_xlabel("discharged [%]; the cell model's bottom fifth is known to lie too low")
plt.show()
subject("Bank")
subject("Lead-acid")
subject("Charging")

# %% [markdown]
# ## Rules of the trade
#
# On invented parts. Where a part was tuned on the rule, the row's reason says so: it then shows only that the rules can
# be met together.

# %%
subject("Rules of the trade")

# %% [markdown]
# ## What disagrees
#
# Rows from memory that miss their tolerance, and rows that are stated without one because they are known not to agree.

# %%
shown = checks[~checks["agrees"]][["subject", "check", "expected", "ours", "unit", "source", "status", "why"]]
shown.drop(columns="why").round(3)

# %%
for line in shown.itertuples():
    print(f"- {line.check}: {line.why}")

# %% [markdown]
# ## What could not be checked, and what is checked elsewhere

# %%
print("not checked:")
for line in NOT_COVERED:
    print(f"- {line}")
print("\nchecked by other tests:")
for what, where in ELSEWHERE.items():
    print(f"- {what}: {where}")

# %% [markdown]
# ## Closing table
#
# One line for each subject, source and kind: how many rows, how many agree, and the worst error over its tolerance.

# %%
held = checks[checks["tolerance"].notna()].copy()
held["over"] = (held["error"].abs() / held["tolerance"].where(held["tolerance"] > 0.0, 1.0)).round(2)
closing = held.groupby(["subject", "source", "kind", "status"], sort=False).agg(
    rows=("check", "size"), agree=("agrees", "sum"), worst_over_tolerance=("over", "max")
)
closing.reset_index()
