"""What can be said about a van and its days: the scenario, whole and immutable.

Parts come from their own rooms; this file puts them together, adds the plan of the day and checks that they fit.
"""

from __future__ import annotations

import datetime
import re
from functools import lru_cache
from typing import Annotated, Any, Literal, Self

from pydantic import Field, PrivateAttr, model_validator

from vansim.quantities import ClockTime, Fraction, Part, Positive
from vansim.scenario.address import slug, twice
from vansim.scenario.faults import dotted
from vansim.scenario.fit import fit_faults
from vansim.scenario.pitch import Pitch
from vansim.van.bank import Bank
from vansim.van.cabin import Cabin
from vansim.van.charging import Alternator, ShoreCharger, ShorePower, SolarArray
from vansim.van.cooler import Cooler
from vansim.van.cooler_thermostat import Thermostat
from vansim.van.loads import Inverter, Load
from vansim.van.people import Dog, Person

DAY_MIN = 24 * 60
AT_FIRST_COOLING, AT_BEDTIME = "first cooling", "bedtime"
RunStart = Annotated[str, Field(pattern=rf"^({AT_FIRST_COOLING}|{AT_BEDTIME}|([01]\d|2[0-3]):[0-5]\d)$")]
Cooling = Literal["off", "eco", "boost", "boost_then_eco"]


@lru_cache(maxsize=1440)
def minutes(clock: str) -> int:
    """Minutes after midnight of ``"HH:MM"``."""
    hours, rest = clock.split(":")
    return int(hours) * 60 + int(rest)


class PlanSegment(Part):
    """Part of a day during which nothing in the plan changes.

    Attributes
    ----------
    start : str
        Clock time at which it begins, ``"HH:MM"``.
    end : str
        Clock time at which it ends, ``"HH:MM"``; one that ends at or before its start runs past midnight.
    name : str
        A name of its own within the day, for addressing it; its start time serves as well.
    doing : {"parked", "idling", "driving"}
        What the van does; idling and driving run the engine.
    speed_kmh : float
        Road speed [km/h]; only when driving.
    shade : float
        Share of the direct sun that is kept off, 0 to 1.
    sky_view_factor : float
        Share of the sky seen from the roof; left out, 1 - 0.6 shade.
    heading_deg : float
        Compass direction of the van's nose [deg]; left out, the site's; on the road all directions in turn.
    covers : bool
        Window covers in place.
    window_open : bool
        A window open.
    fan : {"off", "on", "auto"}
        Roof fan; `auto` runs it only while outside air helps.
    cooling : {"off", "eco", "boost", "boost_then_eco"}
        What the battery-powered cooler does.
    vehicle_cooling : bool
        The engine-driven cooling holds the cabin; only with the engine running.
    setpoint_c : float
        Set point during this segment [°C]; left out, the thermostat's.
    people : {"awake", "asleep", "out"}
        What the people do.
    dogs : {"awake", "asleep", "out"}
        What the dogs do.
    shore : bool
        Plugged in to shore power.
    """

    start: ClockTime
    end: ClockTime
    name: str = ""
    doing: Literal["parked", "idling", "driving"] = "parked"
    speed_kmh: float = Field(default=0.0, ge=0, le=140)
    shade: Fraction = 0.0
    sky_view_factor: Fraction | None = None
    heading_deg: float | None = Field(default=None, ge=0, le=360)
    covers: bool = False
    window_open: bool = False
    fan: Literal["off", "on", "auto"] = "off"
    cooling: Cooling = "off"
    vehicle_cooling: bool = False
    setpoint_c: float | None = Field(default=None, ge=15, le=32)
    people: Literal["awake", "asleep", "out"] = "awake"
    dogs: Literal["awake", "asleep", "out"] = "awake"
    shore: bool = False

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        name = slug(self.name)
        if name in ("*", "name", "segment") or re.fullmatch(r"[\d:]+", name):
            raise ValueError(
                f"a segment cannot be called {self.name!r}; choose a name with a letter, such as 'evening'"
            )
        if self.start == "24:00":
            raise ValueError("a start at midnight is written 00:00, not 24:00")
        if self.doing == "driving" and self.speed_kmh <= 0.0:
            raise ValueError("a driving segment needs a speed_kmh above 0")
        if self.doing != "driving" and self.speed_kmh > 0.0:
            raise ValueError(f"speed_kmh is given but the van is {self.doing}")
        if self.vehicle_cooling and self.doing == "parked":
            raise ValueError("vehicle_cooling needs the engine: doing = 'idling' or 'driving'")
        if self.shore and self.doing == "driving":
            raise ValueError("a van cannot be on shore power while driving")
        return self

    @property
    def span_min(self) -> int:
        """Length [min]."""
        span = (minutes(self.end) - minutes(self.start)) % DAY_MIN
        return span or DAY_MIN

    @property
    def sky_view(self) -> float:
        """Share of the sky seen from the roof."""
        return 1.0 - 0.6 * self.shade if self.sky_view_factor is None else self.sky_view_factor


class Day(Part):
    """A named day: segments that cover its 24 hours, without a gap and without an overlap.

    Attributes
    ----------
    name : str
        By which the cycle and changes address it.
    segment : tuple of PlanSegment
        In order; the first may start at any hour, and the last ends at that hour.
    """

    name: str = "day"
    segment: tuple[PlanSegment, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _covers_the_day(self) -> Self:
        faults = [] if slug(self.name) not in ("", "*") else [f"a day cannot be called {self.name!r}; give it a name"]
        for before, after in zip(self.segment, (*self.segment[1:], self.segment[0]), strict=True):
            gap = (minutes(after.start) - minutes(before.end)) % DAY_MIN
            if gap:
                faults.append(
                    f"the segment ending {before.end} and the next, starting {after.start}, "
                    f"{'overlap' if gap > DAY_MIN // 2 else 'leave a gap'}"
                )
        total = sum(segment.span_min for segment in self.segment)
        if not faults and total != DAY_MIN:
            faults.append(f"the segments add up to {total / 60:g} h; a day has 24 h")
        faults += [f"two segments are called {name!r}" for name in twice(s.name for s in self.segment if slug(s.name))]
        if faults:
            raise ValueError("\n".join(faults))
        return self


class Night(Part):
    """What counts as a covered night.

    Attributes
    ----------
    label : str
        What answers call it, where other hours than the night are what counts: ``"working day"``.
    bedtime : str
        Clock time at which it begins, ``"HH:MM"``.
    waking : str
        Clock time at which it ends, ``"HH:MM"``.
    limit_c : float
        Cabin air must stay at or below this [°C].
    grace_min : float
        Time above the limit, over the whole night, that is forgiven [min]: a thermostat may overshoot (assumed; about
        3 % of nine hours).
    """

    label: str = "night"
    bedtime: ClockTime = "22:00"
    waking: ClockTime = "07:00"
    limit_c: float = Field(default=26.0, ge=18, le=35)
    grace_min: float = Field(default=15.0, ge=0, le=240)

    @property
    def length_h(self) -> float:
        """Bedtime to waking [h]; the same clock time for both means the whole day."""
        return ((minutes(self.waking) - minutes(self.bedtime)) % DAY_MIN or DAY_MIN) / 60.0


def _check_date(text: str) -> None:
    """Refuse what is no date of the 365-day year."""
    try:
        datetime.date(2001, int(text[:2]), int(text[3:]))
    except ValueError as fault:
        raise ValueError(f"date {text!r}: {fault}; typical years have no 29 February") from None


class RunWindow(Part):
    """When a run begins and how long it is.

    Attributes
    ----------
    date : str
        ``"MM-DD"``: the day on which the bedtime of the first night falls.
    start : str
        Where it begins, with the bank at its starting charge. ``"first cooling"``: where the account of the first night
        begins, when the plan first switches cooling on after the waking before (at that waking where cooling was on
        already, at bedtime where it is never on before). ``"bedtime"``: at bedtime, so that cooling before it is not
        counted. Or a clock time on that day.
    days : int
        Number of days.
    """

    date: str = Field(default="07-15", pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")
    start: RunStart = AT_FIRST_COOLING
    days: int = Field(default=1, ge=1, le=365)

    @model_validator(mode="after")
    def _a_real_date(self) -> Self:
        _check_date(self.date)
        return self


class Stop(Part):
    """A place of a trip.

    Attributes
    ----------
    date : str
        ``"MM-DD"``: the day of arrival, whose night is the first there.
    weather : str
        Path of the place's weather file, relative to the scenario file.
    name : str
        What the place is called; left out, as its file calls it.
    arrive : str
        Name of the day of the plan on which the place is reached, with its driving; left out, the first that drives.
        The weather changes halfway through the driving. In the first place left out, nobody drives there.
    stay : str
        Name of the day of the plan for the other days; left out, the first that does not drive.
    nights : int
        Nights in the last place; left out, 1. In the others the next date says it.
    """

    date: str = Field(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")
    weather: str
    name: str = ""
    arrive: str = ""
    stay: str = ""
    nights: int | None = Field(default=None, ge=1, le=365)

    @model_validator(mode="after")
    def _a_real_date(self) -> Self:
        _check_date(self.date)
        return self


class VehicleCooling(Part):
    """The engine-driven cooling of the vehicle, where a segment uses it.

    Attributes
    ----------
    setpoint_c : float
        Cabin temperature that it holds [°C].
    capacity_w : float
        Largest cooling capacity [W].
    """

    setpoint_c: float = Field(default=24.0, ge=15, le=30)
    capacity_w: Positive = 4000.0


class Occupants(Part):
    """Who is in the van.

    Attributes
    ----------
    people : tuple of Person
        Adults and children by size.
    dogs : tuple of Dog
        By mass.
    """

    people: tuple[Person, ...] = ()
    dogs: tuple[Dog, ...] = ()


class Scenario(Part):
    """A van, its people, its place and its days.

    Attributes
    ----------
    title : str
        Heading of every answer.
    note : str
        A remark, for people.
    weather : str
        Path of a typical-year file, relative to the scenario file.
    parts : str
        Folder of one's own parts, relative to the scenario file; left out, the library's alone.
    prices : str
        File with one's own prices of parts, relative to the scenario file; left out, none but those of the parts.
    run : RunWindow
        Which days are run.
    night : Night
        Which hours count, and what the cabin must keep to.
    site : Pitch
        Where and how the van stands.
    cabin : Cabin
        Walls, windows, air exchange and heat stores.
    occupants : Occupants
        People and dogs.
    cooler : Cooler or None
        The battery-powered air conditioner; left out, none.
    thermostat : Thermostat
        Set point and dead band.
    bank : Bank
        Batteries as they are wired.
    alternator : Alternator or None
        Charging from the engine; left out, none.
    solar : SolarArray or None
        Panels; left out, none.
    charger : ShoreCharger or None
        Charger on shore power; left out, none.
    shore : ShorePower or None
        The socket on the pitch; left out, none.
    vehicle_cooling : VehicleCooling
        Engine-driven cooling, where a segment uses it.
    inverter : Inverter
        For loads on mains voltage.
    loads : tuple of Load
        Everything else that draws on the bank.
    day : tuple of Day
        Kinds of day, each with its plan.
    cycle : tuple of str
        Names of days in the order in which they follow one another, from the first day of a run; left out, as they
        stand.
    trip : tuple of Stop
        Places in the order of their dates, for a chain of nights from one to the next; left out, the van stays.
    variants : dict
        Named designs for comparing: the changes of each, address to value.
    currency : str
        Currency of prices; left out, that of the prices file.
    """

    title: str = "untitled"
    note: str = ""
    weather: str = ""
    parts: str = ""
    prices: str = ""
    run: RunWindow = RunWindow()
    night: Night = Night()
    site: Pitch = Pitch()
    cabin: Cabin
    occupants: Occupants = Occupants()
    cooler: Cooler | None = None
    thermostat: Thermostat = Thermostat()
    bank: Bank
    alternator: Alternator | None = None
    solar: SolarArray | None = None
    charger: ShoreCharger | None = None
    shore: ShorePower | None = None
    vehicle_cooling: VehicleCooling = VehicleCooling()
    inverter: Inverter = Inverter()
    loads: tuple[Load, ...] = ()
    day: tuple[Day, ...] = Field(min_length=1)
    cycle: tuple[str, ...] = ()
    trip: tuple[Stop, ...] = ()
    variants: dict[str, dict[str, Any]] = Field(default_factory=dict)
    currency: str = ""

    _origins: dict[tuple[str | int, ...], str] = PrivateAttr(default_factory=dict)
    _folder: str = PrivateAttr(default="")

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        faults = fit_faults(self)
        if faults:
            raise ValueError("\n".join(faults))
        return self

    @property
    def deadband_k(self) -> float:
        """Width of the thermostat's band [K]: as asked for, else that of the cooler itself."""
        if self.thermostat.deadband_k is not None:
            return self.thermostat.deadband_k
        return self.cooler.deadband_k if self.cooler is not None else 1.0

    def segments(self) -> dict[str, PlanSegment]:
        """Every segment of every day by its address, such as ``day.at-the-camp.22:00``."""
        return {dotted(("day", slug(day.name), s.start)): s for day in self.day for s in day.segment}

    def days(self) -> tuple[Day, ...]:
        """The days of the cycle in order; day n of a run is ``days()[n % len]``."""
        by_name = {day.name: day for day in self.day}
        return tuple(by_name[name] for name in self.cycle) if self.cycle else self.day
