"""A van as it was understood, in the figures by which its owner knows it, and the slips that show in them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from vansim.boundary.forcing import build_forcing, first_hour_of
from vansim.data import table
from vansim.notes import Note
from vansim.scenario.address import slug
from vansim.scenario.faults import dotted
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario
from vansim.studies.attendance import aboard
from vansim.van.bank import bank_parameters, discharge_limit_a, ocv_at, usable_kwh
from vansim.van.cabin import FACES, INSIDE_FILM_M2K_W
from vansim.van.charging import COLD_C, alternator_a
from vansim.van.cooler import BOOST, ECO
from vansim.van.cooler_draw import Condition, draw

if TYPE_CHECKING:
    from vansim.climate import Weather

OUTDOORS_C, CABIN_C = (35.0, 45.0), 25.0
"""Air outside and in the cabin at which the cooler's draw is told [°C]."""
CALM_M_S = 2.0
"""Wind at the van for its leakage [m/s]."""
AIR_WH_M3K = 0.335
"""Heat capacity of air by volume [Wh/m3K]: 1.2 kg/m3 times 1006 J/kgK."""
REST_SOC = 0.5
"""State of charge at whose resting voltage power is told as current."""
THIN_MM = {"steel": 0.3, "stainless-steel": 0.3, "aluminium": 0.3}
"""A thinner layer is more likely a slip of the unit; 1 mm for all but sheet metal."""
THICK_MM = 250.0
ROOF_FREE = 0.9
"""Share of a roof that panels can take beside hatch, fan and cooler (common practice)."""
PANEL_W_M2 = (80.0, 260.0)
"""Panels of fewer or more watts a square metre are not made (common practice; modules of 2020 to 2025: 180 to 230)."""


@dataclass(frozen=True)
class VanFigures:
    """What a scenario's van amounts to.

    Attributes
    ----------
    envelope : DataFrame
        By face, then `glass`, `glass, covered` and `air`: `area_m2`, `u_w_m2k` (films of ISO 6946:2017), `ua_w_k`.
    air_changes_per_h : float
        Parked and shut, with 2 m/s of wind at the van.
    sun : dict of str to float
        Sun through the glass in the open around noon of the run's first day: `hour`, `bare_w`, `covered_w`; and
        `panels_wh`, what the panels offer on that day in the open. Empty without weather.
    cooler : DataFrame
        By mode and outdoor air, with 25 °C and half humidity in the cabin, compressor without a pause: `mode`,
        `outdoor_c`, `current_a`, `power_w`, `cooling_w`, `runtime_h` on the usable charge. Empty without a cooler.
    bank : dict of str to float
        `nominal_v`, `rest_v` (half charged), `capacity_ah`, `usable_ah`, `usable_kwh`, `limit_a` (0 where unknown).
    charging : DataFrame
        By source: `current_a` (cool), `power_w`, `refill_h` from the reserve at that rate.
    aboard : DataFrame
        By segment: `start`, `end`, `people`, `dogs`, `cooling`.
    slips : tuple of Note
        What is allowed and still looks wrong.
    """

    envelope: pd.DataFrame
    air_changes_per_h: float
    sun: dict[str, float]
    cooler: pd.DataFrame
    bank: dict[str, float]
    charging: pd.DataFrame
    aboard: pd.DataFrame
    slips: tuple[Note, ...]


def van_figures(scenario: Scenario, weather: Weather | None = None) -> VanFigures:
    """Work out the figures of a scenario's van.

    Parameters
    ----------
    scenario : Scenario
        As checked.
    weather : Weather, optional
        Its typical year; without it nothing is said of the sun.

    Returns
    -------
    VanFigures
    """
    bank, cooler = _bank(scenario), pd.DataFrame()
    if scenario.cooler is not None:
        cooler = _cooler(scenario, bank)
    changes = scenario.cabin.leakage_parked_per_h + scenario.cabin.leakage_wind_per_h * CALM_M_S
    found = VanFigures(
        envelope=_envelope(scenario, changes),
        air_changes_per_h=changes,
        sun={} if weather is None else _sun(scenario, weather),
        cooler=cooler,
        bank=bank,
        charging=_charging(scenario, bank),
        aboard=_aboard(scenario),
        slips=(),
    )
    return VanFigures(**{**vars(found), "slips": tuple(_slips(scenario, found))})


def _envelope(scenario: Scenario, changes: float) -> pd.DataFrame:
    cabin = scenario.cabin
    rows: dict[str, tuple[float, float]] = {
        name: (cabin.faces[name].area_m2, float(cabin.faces[name].u_w_m2k(INSIDE_FILM_M2K_W[name]))) for name in FACES
    }
    area = sum(window.area_m2 for window in cabin.windows)
    for name, covers in (("glass", False), ("glass, covered", True)):
        ua = sum(window.area_m2 * float(window.u_w_m2k(covers)) for window in cabin.windows)
        rows[name] = (area, ua / area if area else np.nan)
    frame = pd.DataFrame.from_dict(rows, orient="index", columns=["area_m2", "u_w_m2k"])
    frame["ua_w_k"] = (frame["area_m2"] * frame["u_w_m2k"]).fillna(0.0)
    frame.loc["air"] = [np.nan, np.nan, AIR_WH_M3K * cabin.volume_m3 * changes]
    return frame.rename_axis("path")


def _sun(scenario: Scenario, weather: Weather) -> dict[str, float]:
    """The van in the open all day: the hour at which most sun comes through the glass, near noon."""
    light = {}
    for covers in (False, True):
        day = Day(segment=(PlanSegment(start="00:00", end="00:00", covers=covers),))
        open_day = scenario.model_copy(update={"day": (day,), "cycle": ()})
        light[covers] = build_forcing(open_day, weather, first_hour_of(scenario.run.date), 0, DAY_MIN).forcing
    f = light[False]
    hours, span_h = f.start_s / 3600.0, (f.end_s - f.start_s) / 3600.0
    noon = int(np.argmin(np.abs(hours + span_h / 2.0 - 12.0)))
    bare, covered = ((one.sun_air_w + one.sun_contents_w)[noon] for one in (f, light[True]))
    panels = float((f.solar_w * span_h).sum())
    return {"hour": float(hours[noon]), "bare_w": float(bare), "covered_w": float(covered), "panels_wh": panels}


def _bank(scenario: Scenario) -> dict[str, float]:
    bank = scenario.bank
    share, limit = 1.0 - bank.reserve_soc, discharge_limit_a(bank)
    return {
        "nominal_v": float(bank.nominal_v),
        "rest_v": float(ocv_at(bank_parameters(bank), REST_SOC)),
        "capacity_ah": bank.capacity_ah,
        "usable_ah": bank.capacity_ah * share,
        "usable_kwh": usable_kwh(bank),
        "limit_a": limit if math.isfinite(limit) else 0.0,
    }


def _cooler(scenario: Scenario, bank: dict[str, float]) -> pd.DataFrame:
    assert scenario.cooler is not None
    rows = []
    for mode, code in (("eco", ECO), ("boost", BOOST)):
        for outdoor in OUTDOORS_C:
            now = draw(scenario.cooler, code, Condition(outdoor_c=outdoor, cabin_c=CABIN_C))
            rows.append(
                {
                    "mode": mode,
                    "outdoor_c": outdoor,
                    "current_a": now.power_w / bank["rest_v"],
                    "power_w": now.power_w,
                    "cooling_w": now.cooling_w,
                    "runtime_h": 1000.0 * bank["usable_kwh"] / now.power_w,
                }
            )
    return pd.DataFrame(rows)


def _charging(scenario: Scenario, bank: dict[str, float]) -> pd.DataFrame:
    volts, rows = bank["rest_v"], {}
    if scenario.alternator is not None:
        for name, driving in (("idling", False), ("road", True)):
            rows[name] = float(alternator_a(scenario.alternator, COLD_C, True, driving))
    if scenario.solar is not None:
        rows["solar, rated"] = scenario.solar.rated_w / volts
    if scenario.charger is not None:
        rows["shore"] = scenario.charger.output_a
    frame = pd.DataFrame({"current_a": pd.Series(rows, dtype=float)}).rename_axis("source")
    frame["power_w"] = frame["current_a"] * volts
    frame["refill_h"] = bank["usable_ah"] / frame["current_a"].where(frame["current_a"] > 0.0)
    return frame


def _aboard(scenario: Scenario) -> pd.DataFrame:
    rows = {}
    for day in scenario.days():
        for segment in day.segment:
            people, dogs = aboard(scenario, segment)
            rows[dotted(("day", slug(day.name), segment.start))] = {
                "start": segment.start, "end": segment.end, "people": people, "dogs": dogs, "cooling": segment.cooling,
            }  # fmt: skip
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("segment")


# --- slips ------------------------------------------------------------------------------------------------------------


def _slips(scenario: Scenario, found: VanFigures) -> list[Note]:
    return [*_layer_slips(scenario), *_charging_slips(scenario), *_cooler_slips(scenario, found)]


def _layer_slips(scenario: Scenario) -> list[Note]:
    notes: dict[tuple[str, float], Note] = {}
    for name, face in scenario.cabin.faces.items():
        for layer in face.layers:
            least = THIN_MM.get(layer.material, 1.0)
            if layer.material in table("materials") and not least <= layer.thickness_mm <= THICK_MM:
                key = (layer.material, layer.thickness_mm)
                before = notes[key].values["faces"] if key in notes else ""
                faces = f"{before}, {name}" if before else name
                values: dict[str, float | str] = {
                    "material": layer.material,
                    "thickness_mm": layer.thickness_mm,
                    "faces": faces,
                }
                notes[key] = Note("thin-layer" if layer.thickness_mm < least else "thick-layer", values)
    return list(notes.values())


def _charging_slips(scenario: Scenario) -> list[Note]:
    notes, alternator, solar = [], scenario.alternator, scenario.solar
    if alternator is not None and alternator.idle_a > alternator.road_a:
        notes.append(Note("idle-above-road", {"idle_a": alternator.idle_a, "road_a": alternator.road_a}))
    if alternator is not None and alternator.vehicle_a >= max(alternator.idle_a, alternator.road_a):
        values = {"vehicle_a": alternator.vehicle_a, "road_a": alternator.road_a}
        notes.append(Note("nothing-from-alternator", values))
    if solar is not None and solar.rated_w > 0.0:
        roof = scenario.cabin.faces["roof"].area_m2
        if solar.area_m2 > ROOF_FREE * roof:
            notes.append(Note("panels-fill-roof", {"area_m2": solar.area_m2, "roof_m2": roof}))
        if not PANEL_W_M2[0] * solar.area_m2 <= solar.rated_w <= PANEL_W_M2[1] * solar.area_m2:
            notes.append(Note("panel-density", {"rated_w": solar.rated_w, "area_m2": solar.area_m2}))
    return notes


def _cooler_slips(scenario: Scenario, found: VanFigures) -> list[Note]:
    if scenario.cooler is None:
        return []
    notes = []
    most, limit = float(found.cooler["current_a"].max()), found.bank["limit_a"]
    if limit and most > limit:
        own = "rated" if scenario.bank.unit.discharge_max_a else "usual"
        notes.append(Note("cooler-above-batteries", {"current_a": most, "limit_a": limit, "whose": own}))
    band = scenario.deadband_k
    for setpoint in sorted({_night_setpoint(scenario)}):
        if scenario.night.limit_c < setpoint + 0.5 * band:
            values = {"limit_c": scenario.night.limit_c, "setpoint_c": setpoint, "deadband_k": band}
            notes.append(Note("limit-below-band", values))
    return notes


def _night_setpoint(scenario: Scenario) -> float:
    """The highest set point of a segment that cools at bedtime, or the thermostat's."""
    own = [s.setpoint_c for day in scenario.day for s in day.segment if s.cooling != "off" and s.people == "asleep"]
    return max((value for value in own if value is not None), default=scenario.thermostat.setpoint_c)
