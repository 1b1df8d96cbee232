"""Everything that pictures are drawn of, for one scenario over a few days of its season."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from vansim.runs.result import Result
from vansim.runs.simulate import simulate
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.show.plots.figure import Sheet
from vansim.studies.compare import Comparison, compare
from vansim.studies.energy import Energy, energy
from vansim.studies.nights import Nights, nights
from vansim.studies.outage import Outage, outage
from vansim.studies.recharge import Recharge, recharge
from vansim.studies.sizing import Sizing, size
from vansim.studies.upgrades import Upgrades, upgrades

SEASON = "07-14..07-18"
DESIGNS = {
    "a third battery, and a long name that takes more than a single line of a picture": {"bank.parallel": 3},
    "set point 27 degC": {"thermostat.setpoint_c": 27.0},
}


@dataclass(frozen=True)
class Pictured:
    """A scenario with all of its studies."""

    scenario: Scenario
    result: Result
    other: Result
    eco: Result
    boost: Result
    nights: Nights
    sizing: Sizing
    several: Sizing
    comparison: Comparison
    upgrades: Upgrades
    energy: Energy
    recharge: Recharge
    empty: Outage
    sun: Outage

    @property
    def noun(self) -> str:
        return self.scenario.night.label


def pictured(scenario: Scenario) -> Pictured:
    cooled = [key for key, segment in scenario.segments().items() if segment.cooling != "off"]
    eco, boost = (simulate(vary(scenario, {f"{key}.cooling": mode for key in cooled})) for mode in ("eco", "boost"))
    result = simulate(scenario)
    return Pictured(
        scenario=scenario,
        result=result,
        other=simulate(vary(scenario, {"bank.parallel": 4})),
        eco=eco,
        boost=boost,
        nights=nights(scenario, season=SEASON),
        sizing=size(scenario, season=SEASON),
        several=size(scenario, season=SEASON, modes=["eco", "boost", "boost_then_eco"], batteries=["agm-12v-200ah"]),
        comparison=compare(scenario, variants=DESIGNS, season=SEASON),
        upgrades=upgrades(scenario, season=SEASON),
        energy=energy(result),
        recharge=recharge(result),
        empty=outage(scenario, season=SEASON),
        sun=outage(scenario, when="sun", season=SEASON),
    )


Draw = Callable[[Pictured, str, float], Sheet]
PICTURES: dict[str, Draw] = {
    "night": lambda p, system, width: plots.night(p.result, 0, system, width),
    "brief night": lambda p, system, width: plots.night(p.result, 0, system, width, brief=True),
    "whole run": lambda p, system, width: plots.night(p.result, None, system, width),
    "two designs": lambda p, system, width: plots.two_designs(
        p.result, p.other, ("as it is", "other"), system=system, width_in=width
    ),
    "modes": lambda p, system, width: plots.eco_against_boost(p.eco, p.boost, system, width),
    "calendar": lambda p, system, width: plots.calendar(p.nights, system, width),
    "consecutive calendar": lambda p, system, width: plots.calendar(p.nights, system, width, "consecutive"),
    "outdoors": lambda p, system, width: plots.runtime_against_outdoors(p.nights, system, width),
    "consecutive outdoors": lambda p, system, width: plots.runtime_against_outdoors(
        p.nights, system, width, "consecutive"
    ),
    "size": lambda p, system, width: plots.bank_size(p.sizing, system, width, p.noun),
    "sizes": lambda p, system, width: plots.bank_size(p.several, system, width, p.noun),
    "designs": lambda p, system, width: plots.designs(p.comparison, system, width),
    "upgrades": lambda p, system, width: plots.upgrades(p.upgrades, system, width),
    "energy": lambda p, system, width: plots.energy(p.energy, system, width),
    "recharge": lambda p, system, width: plots.recharge(p.recharge, system, width),
    "outage": lambda p, system, width: plots.outage(p.empty, system, width),
    "outage in the sun": lambda p, system, width: plots.outage(p.sun, system, width),
}


def rendered(sheet: Sheet) -> tuple[Sheet, FigureCanvasAgg]:
    """A picture, drawn, with the canvas that knows its extents."""
    canvas = FigureCanvasAgg(sheet)
    sheet.draw(canvas.get_renderer())
    return sheet, canvas


def words_on(sheet: Sheet) -> list[Text]:
    """Every text that is seen: not empty, and no tick label that lies outside the view or is switched off."""
    hidden = set()
    for ax in sheet.axes:
        for axis, limits in ((ax.xaxis, ax.get_xlim()), (ax.yaxis, ax.get_ylim())):
            low, high = sorted(limits)
            off = axis.get_tick_params().get("labelbottom") is False
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if off or not low - 1e-9 <= tick.get_loc() <= high + 1e-9:
                    hidden |= {tick.label1, tick.label2}
    texts = [text for text in sheet.findobj(Text) if text.get_visible() and text.get_text().strip()]
    return [text for text in texts if text not in hidden]
