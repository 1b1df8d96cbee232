"""Sun, shore power and alternator: worked values, pvlib's own chain, the breaker rule, measured machines."""

from __future__ import annotations

import warnings
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tests.support.bench import between, hold, read, row
from tests.support.sky import total_w_m2
from vansim.boundary.envelope import PANEL_DIFFUSE, irradiance
from vansim.boundary.mains import mains_share
from vansim.climate import Weather, read_weather
from vansim.scenario.parts import library
from vansim.van.charging import (
    COLD_C,
    Alternator,
    ShoreCharger,
    ShorePower,
    SolarArray,
    alternator_a,
    cell_c,
    solar_dc_w,
)
from vansim.van.loads import Inverter

DESERT = Path(__file__).parents[2] / "data_demo" / "climates" / "desert.epw"
PVLIB = "pvlib 0.16 own chain (PVSystem functions), invented desert year"


def array(mount: str, gamma: float = -0.0035) -> SolarArray:
    """400 W with the default losses of PVWatts in one figure and no controller."""
    return SolarArray(
        rated_w=400.0,
        area_m2=2.0,
        gamma_per_k=gamma,
        mount=mount,
        soiling=0.0,
        mismatch=0.0,
        wiring=0.0,  # type: ignore[arg-type]
        other=0.140757,
        mppt_efficiency=1.0,
    )


def charger_w(breaker_a: float, charger: ShoreCharger) -> float:
    """What a pedestal without loads gives the bank's side [W]."""
    return mains_share((), Inverter(), ShorePower(breaker_a=breaker_a), charger).charger_w


def worked_rows() -> list[dict[str, Any]]:
    out = []
    for r in read("charging").itertuples():
        if r.kind_of == "shore":
            lossless = ShoreCharger(output_a=1000.0, efficiency=1.0)
            ours, name = charger_w(r.a, lossless), f"continuous power of {r.a:g} A at 120 V"
        else:
            part = array(r.mount, -0.0035 if np.isnan(r.gamma) else r.gamma)
            ours = cell_c(part, r.a, r.b, r.c)
            name = f"cell, {r.a:g} W/m2, {r.b:g} degC, {r.c:g} m/s, {r.mount}"
            if r.kind_of == "pv":
                ours, name = solar_dc_w(part, r.a, ours), name.replace("cell", f"400 W, {r.gamma}/K")
        out.append(row(name, r.expected, float(ours), r.tolerance, r.unit, r.why, r.source, r.kind, r.status))
    charger = ShoreCharger(output_a=200.0, efficiency=0.88)
    out.append(
        row(
            "bank power from 15 A through 88 %",
            1267.2,
            charger_w(15.0, charger),
            0.5,
            "W",
            "arithmetic, printed to 1 W",
            "NEC 210.20(A)",
            "standard",
            "look-up",
        )
    )
    return out


@cache
def desert() -> Weather:
    return read_weather(DESERT)


@cache
def year_kwh() -> dict[str, float]:
    """A flat 400 W array over the desert year: ours, and pvlib's chain hour by hour at mid-hour sun [kWh]."""
    import pvlib

    weather = desert()
    frame = weather.data
    part = SolarArray(rated_w=400.0, area_m2=2.0)
    flat = irradiance(weather, 0.0, 180.0, 0.2, "panel")
    wind = frame["wind_speed"].to_numpy()
    plane, air = total_w_m2(flat), frame["temp_air"].to_numpy()
    ours = solar_dc_w(
        part, flat.beam_modified + PANEL_DIFFUSE * (flat.sky_diffuse + flat.ground), cell_c(part, plane, air, wind)
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib 0.16 calls what pandas 3.1 deprecates
        middle = pd.DatetimeIndex(frame.index).tz_convert("UTC") + pd.Timedelta("30min")
        sun = pvlib.solarposition.get_solarposition(
            middle, weather.site.latitude, weather.site.longitude, weather.site.altitude
        )
        extra = pvlib.irradiance.get_extra_radiation(middle)
        fluxes = {name: frame[name].to_numpy() for name in ("dni", "ghi", "dhi")}
        poa = pvlib.irradiance.get_total_irradiance(
            0.0,
            180.0,
            sun["apparent_zenith"].to_numpy(),
            sun["azimuth"].to_numpy(),
            **fluxes,
            dni_extra=np.asarray(extra),
            model="haydavies",
        )
        aoi = pvlib.irradiance.aoi(0.0, 180.0, sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy())
        iam = pvlib.iam.physical(aoi)
        diffuse_iam = pvlib.iam.marion_diffuse("physical", 0.0)["sky"]
        effective = np.nan_to_num(poa["poa_direct"] * iam + poa["poa_diffuse"] * diffuse_iam)
        total = np.nan_to_num(poa["poa_global"])
        cell = pvlib.temperature.sapm_cell(total, air, wind, -2.98, -0.0471, 1.0)
        theirs = np.maximum(pvlib.pvsystem.pvwatts_dc(effective, cell, 400.0, -0.0035), 0.0) * part.yield_factor
    return {"ours": float(ours.sum()) / 1e3, "pvlib": float(theirs.sum()) / 1e3, "diffuse": float(diffuse_iam)}


def year_rows() -> list[dict[str, Any]]:
    y = year_kwh()
    per_kw = y["ours"] / 0.4
    return [
        row(
            "flat 400 W over a desert year",
            y["pvlib"],
            y["ours"],
            0.01 * y["pvlib"],
            "kWh",
            "same models; ours takes six suns an hour and one diffuse factor, theirs the sun at mid-hour",
            PVLIB,
            "library",
            "computed",
        ),
        row(
            "angle factor of a module for sky light",
            y["diffuse"],
            PANEL_DIFFUSE,
            0.01,
            "1",
            "hemispherical mean of the same model",
            "pvlib 0.16 marion_diffuse",
            "library",
            "computed",
        ),
        between(
            "yield of a flat array in a desert year",
            1300.0,
            1800.0,
            per_kw,
            "kWh per kW",
            "map of flat arrays in sunny deserts, less heat",
            "solar atlases (range)",
            "common practice",
            "memory",
        ),
    ]


def alternator_rows() -> list[dict[str, Any]]:
    """Measured machines; ours is described by an ammeter, so only heat and the idle share can be wrong."""
    hot = {"low": 16.0 / 24.0, "road": 41.0 / 50.0}
    part = library().part("alternators", "second-12v-230a")
    assert isinstance(part, Alternator)
    idle = float(alternator_a(part, COLD_C + part.hot_rise_k, True, False)) / part.idle_a
    road = float(alternator_a(part, COLD_C + part.hot_rise_k, True, True)) / part.road_a
    marine = "technical data of a 12 V 50 A marine machine, hot and cold"
    return [
        row(
            "idle output left once warm",
            hot["low"],
            idle,
            0.02,
            "1",
            "16 of 24 A at 1300 rpm",
            marine,
            "measurement",
            "look-up",
        ),
        row(
            "road output left once warm",
            hot["road"],
            road,
            0.02,
            "1",
            "41 of 50 A at 2500 rpm; other manuals: heat costs up to 25 %",
            marine,
            "measurement",
            "look-up",
        ),
        between(
            "idle over road output, second-12v-230a",
            0.3,
            0.6,
            part.idle_a / part.road_a,
            "1",
            "idle 0.32 to 0.54 of rating for two measured machines",
            marine,
            "measurement",
            "look-up",
        ),
    ]


def rows() -> list[dict[str, Any]]:
    return worked_rows() + year_rows() + alternator_rows()


def test_charging() -> None:
    hold(rows())
