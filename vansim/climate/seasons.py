"""Which nights are looked at, under which weather: a season of a typical year, and the heat wave that it may lack."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from vansim.climate import Weather
from vansim.climate.describe import hot_season
from vansim.climate.design_days import DESIGN_DAY_OF_MONTH as DAY_OF_MONTH
from vansim.climate.design_days import NOTE as DESIGN_DAY
from vansim.climate.weather import HOURS
from vansim.errors import ScenarioError
from vansim.notes import Note
from vansim.psychrometrics import ZERO_C_K

YEAR_DAYS = 365
FORTNIGHT = 14
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
LARGEST_SHIFT_K = 15.0


@dataclass(frozen=True)
class NightRange:
    """Consecutive nights of the typical year, which repeats.

    Attributes
    ----------
    first : int
        Day of the year of the first evening, 0 being 1 January.
    days : int
        Number of nights.
    label : str
        For people.
    """

    first: int
    days: int
    label: str

    @property
    def first_hour(self) -> int:
        """Hour of the year of midnight on the first day."""
        return self.first * 24

    def date_of(self, night: int) -> date:
        """Date of an evening; nights that run past December are dated in the next year."""
        return date(2001, 1, 1) + timedelta(days=self.first + night)


@dataclass(frozen=True, kw_only=True)
class HeatWave:
    """A stated margin on a typical year: some days made hotter, dew point held.

    Attributes
    ----------
    shift_k : float
        Added to the air temperature [K], 0 to 15.
    dates : str or None
        ``"MM-DD..MM-DD"``; left out, the hottest fortnight of the weather.
    """

    shift_k: float = 3.0
    dates: str | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.shift_k <= LARGEST_SHIFT_K:
            raise ScenarioError(f"heat wave: shift_k is {self.shift_k:g} K; allowed: 0 to {LARGEST_SHIFT_K:g} K")
        if self.dates is not None:
            _between(self.dates)


def span_of(season: str | None, weather: Weather) -> NightRange:
    """Read a season.

    Parameters
    ----------
    season : str or None
        ``"jun-sep"``, ``"06-01..09-30"``, ``"year"``, or None: the hottest three consecutive months of the weather; of
        design days, the one of the hottest month.
    weather : Weather
        Typical year.

    Returns
    -------
    NightRange
        Nights by the date of their evening.

    Raises
    ------
    ScenarioError
        Not a season.
    """
    if season is None:
        month = next((int(note.values["month"]) for note in weather.notes if note.code == DESIGN_DAY), None)
        if month is not None:
            return NightRange(_day_of(f"{month:02d}-{DAY_OF_MONTH}"), 1, f"the design day of {MONTHS[month - 1]}")
        first, _, last = hot_season(weather)
        return _months(first, last, f"{MONTHS[first - 1]}-{MONTHS[last - 1]}, the hottest three months")
    text = season.strip().lower()
    if text == "year":
        return NightRange(0, YEAR_DAYS, "the year")
    if ".." in text:
        first_day, days = _between(text)
        return NightRange(first_day, days, text)
    names = [part.strip()[:3] for part in text.split("-")]
    if len(names) in (1, 2) and all(name in MONTHS for name in names):
        return _months(MONTHS.index(names[0]) + 1, MONTHS.index(names[-1]) + 1, text)
    raise ScenarioError(f"season: {season!r} is not a season; allowed: 'jun-sep', 'jul', '06-01..09-30', 'year'")


def _months(first: int, last: int, label: str) -> NightRange:
    start = _day_of(f"{first:02d}-01")
    end = _day_of(f"{last % 12 + 1:02d}-01")
    return NightRange(start, (end - start - 1) % YEAR_DAYS + 1, label)


def _between(text: str) -> tuple[int, int]:
    """First day of the year and number of days of ``"MM-DD..MM-DD"``, both ends included."""
    ends = [part.strip() for part in text.split("..")]
    if len(ends) != 2:
        raise ScenarioError(f"dates: {text!r}; write two dates, as in 06-01..09-30")
    first, last = _day_of(ends[0]), _day_of(ends[1])
    return first, (last - first) % YEAR_DAYS + 1


def _day_of(text: str) -> int:
    if not re.fullmatch(r"\d\d-\d\d", text):
        raise ScenarioError(f"dates: {text!r} is not a date; write month and day, as in 06-01")
    try:
        return (date(2001, int(text[:2]), int(text[3:])) - date(2001, 1, 1)).days
    except ValueError as fault:
        raise ScenarioError(f"dates: {text!r}: {fault}; typical years have no 29 February") from None


def hottest_fortnight(weather: Weather) -> NightRange:
    """The fourteen consecutive days with the highest mean temperature, around the year."""
    daily = weather.array("temp_air").reshape(YEAR_DAYS, 24).mean(axis=1)
    around = np.concatenate([daily, daily[: FORTNIGHT - 1]])
    first = int(np.argmax(np.convolve(around, np.full(FORTNIGHT, 1.0 / FORTNIGHT), mode="valid")))
    return NightRange(first, FORTNIGHT, "the hottest fortnight")


def with_heat_wave(weather: Weather, wave: HeatWave | float | None) -> Weather:
    """The same year with a heat wave in it.

    Parameters
    ----------
    weather : Weather
        Typical year.
    wave : HeatWave, float or None
        A number is a shift [K] on the hottest fortnight; None leaves the year as it is.

    Returns
    -------
    Weather
        Air temperature shifted from midnight to midnight. Dew point and sun are held. Longwave from the sky keeps its
        emittance, which hangs on the dew point, and so grows with the fourth power of the air's absolute temperature.
    """
    if wave is None:
        return weather
    wave = wave if isinstance(wave, HeatWave) else HeatWave(shift_k=float(wave))
    days = hottest_fortnight(weather) if wave.dates is None else NightRange(*_between(wave.dates), wave.dates)
    rows: npt.NDArray[np.int64] = (days.first_hour + np.arange(days.days * 24)) % HOURS
    temp, longwave = weather.array("temp_air").copy(), weather.array("longwave")
    # a flux is a mean over its hour: it belongs to the mean of the two instants
    before = 0.5 * (temp + np.roll(temp, -1)) + ZERO_C_K
    temp[rows] += wave.shift_k
    after = 0.5 * (temp + np.roll(temp, -1)) + ZERO_C_K
    data = weather.data.assign(temp_air=temp, longwave=longwave * (after / before) ** 4)
    return replace(weather, data=data, notes=(*weather.notes, wave_note(wave, days)))


def wave_note(wave: HeatWave, days: NightRange) -> Note:
    """The margin as a note: code ``heat-wave``, its shift [K], its first and last day, and whether it chose them."""
    return Note(
        "heat-wave",
        {
            "shift_k": wave.shift_k,
            "first": days.date_of(0).isoformat(),
            "last": days.date_of(days.days - 1).isoformat(),
            "hottest_fortnight": wave.dates is None,
        },
    )
