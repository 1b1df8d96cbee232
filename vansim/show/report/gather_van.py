"""The van as it was taken: its own values, read from the scenario and the run."""

from __future__ import annotations

import numpy as np

from vansim.data import table
from vansim.runs.result import Result
from vansim.scenario.parts import cabin_ua_w_k
from vansim.show.report.findings_van import FaceFound, VanFound, WindowFound
from vansim.studies.design import Design
from vansim.van.bank import bank_parameters, ocv_at
from vansim.van.cabin import Face
from vansim.van.cooler import BOOST, ECO, cooler_parameters, steady_state
from vansim.van.cooler_balance import AirState
from vansim.van.cooler_map import running

HALF = 0.5
"""State of charge at whose rest voltage currents are told."""
INSULATES_W_MK = 0.06
"""A layer that conducts no better than this is told as insulation [W/mK]; wood begins at about 0.1."""


def van_found(result: Result, which: int, design: Design) -> VanFound:
    """Read the van of a run.

    Parameters
    ----------
    result : Result
        The run.
    which : int
        Row of `result.nights` on which the currents are read.
    design : Design
        The same van over its season.

    Returns
    -------
    VanFound
        Plain values.
    """
    scenario, night = result.run.scenario, result.night(which)
    bank, solar, alternator = scenario.bank, scenario.solar, scenario.alternator
    asleep = [result.run.laid.segments[i] for i in range(night.asleep.start, night.asleep.stop)]
    awake = [segment for segment in scenario.segments().values() if segment not in asleep]
    volts = float(ocv_at(bank_parameters(bank), HALF))
    eco_a, boost_a = (watts / volts for watts in _powers(result, which))
    cooler = scenario.cooler
    forcing = design.season.laid.forcing
    return VanFound(
        ua_w_k=cabin_ua_w_k(scenario.cabin),
        faces=tuple(_face(name, face) for name, face in scenario.cabin.faces.items()),
        windows=tuple(
            WindowFound(w.name, w.face, w.area_m2, w.glass, w.cover if isinstance(w.cover, str) else "own values")
            for w in scenario.cabin.windows
        ),
        covers_asleep=all(segment.covers for segment in asleep),
        shade_by_day=max((s.shade for s in awake if s.doing == "parked"), default=0.0),
        shade_asleep=max((s.shade for s in asleep), default=0.0),
        rated_w=cooler.rated.capacity_w if cooler else 0.0,
        rated_power_w=cooler.rated.power_w if cooler else 0.0,
        rated_outdoor_c=cooler.rated.outdoor_c if cooler else float("nan"),
        intake_rise_k=cooler.intake_rise_k if cooler else 0.0,
        intake_cost=_intake_cost(result, which),
        eco_a=eco_a,
        boost_a=boost_a,
        at_v=volts,
        chemistry=bank.unit.chemistry,
        units=bank.units,
        unit_ah=bank.unit.capacity_ah,
        unit_v=bank.unit.nominal_v,
        usable_kwh=design.usable_kwh,
        reserve_soc=bank.reserve_soc,
        panels_w=solar.rated_w if solar else 0.0,
        panels_m2=solar.area_m2 if solar else 0.0,
        idle_a=alternator.idle_a if alternator else 0.0,
        road_a=alternator.road_a if alternator else 0.0,
        charger_a=scenario.charger.output_a if scenario.charger else 0.0,
        breaker_a=scenario.shore.breaker_a if scenario.shore else 0.0,
        loads_wh_day=24.0 * float(np.average(forcing.loads_w, weights=forcing.end_s - forcing.start_s)),
    )


def _face(name: str, face: Face) -> FaceFound:
    materials = table("materials")
    insulants = tuple(
        (layer.material, layer.thickness_mm)
        for layer in face.layers
        if layer.material and float(materials[layer.material]["conductivity_w_mk"]) <= INSULATES_W_MK
    )
    return FaceFound(name, face.paint, insulants)


def _intake_cost(result: Result, which: int) -> float:
    """Share of cooling per watt-hour in eco that the warm intake costs, at the night's mean and the set point."""
    cooler, night = result.run.scenario.cooler, result.night(which)
    if cooler is None:
        return 0.0
    asleep = result.intervals.iloc[night.asleep]
    outdoor_c, ratio = (float(np.average(asleep[n], weights=asleep["span_s"])) for n in ("outdoor_c", "cabin_ratio"))
    cabin_c, pressure_pa = result.run.scenario.thermostat.setpoint_c, result.run.cooling.pressure_pa
    air = AirState(outdoor_c=outdoor_c, cabin_c=cabin_c, ratio=ratio, pressure_pa=pressure_pa)
    free = cooler_parameters(cooler)._replace(intake_rise_k=0.0)
    warm, plain = (steady_state(machine, ECO, air) for machine in (cooler_parameters(cooler), free))
    return 1.0 - warm.gross_w / warm.compressor_w * plain.compressor_w / plain.gross_w


def _powers(result: Result, which: int) -> tuple[float, float]:
    """Power of the running cooler in eco and in boost [W], at the night's mean outdoors and the set point."""
    run, night = result.run, result.night(which)
    if run.scenario.cooler is None:
        return 0.0, 0.0
    asleep = result.intervals.iloc[night.asleep]
    outdoor_c, ratio = (float(np.average(asleep[n], weights=asleep["span_s"])) for n in ("outdoor_c", "cabin_ratio"))
    setpoint_c = run.scenario.thermostat.setpoint_c
    eco, boost = (running(run.cooling, mode, outdoor_c, setpoint_c, ratio).power_w for mode in (ECO, BOOST))
    return float(eco), float(boost)
