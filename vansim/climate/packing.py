"""A canonical year as plain arrays and back, to the last bit: the form in which it lies in the disk cache."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.weather import COLUMNS, Closure, Location, Weather, hour_index
from vansim.notes import Note


def packed(weather: Weather) -> dict[str, npt.NDArray[Any]]:
    """Everything of a year but the name of its file.

    Parameters
    ----------
    weather : Weather
        A canonical year.

    Returns
    -------
    dict of str to array
        ``data`` (10, 8760), one row a column of the frame, and ``about`` (), the rest as JSON.
    """
    about = {
        "site": asdict(weather.site),
        "kind": weather.kind,
        "closure": asdict(weather.closure),
        "notes": [[note.code, dict(note.values)] for note in weather.notes],
    }
    return {
        "data": np.array([weather.array(column) for column in COLUMNS]),
        "about": np.array(json.dumps(about)),
    }


def unpacked(arrays: Mapping[str, npt.NDArray[Any]], source: str) -> Weather:
    """The year again.

    Parameters
    ----------
    arrays : mapping of str to array
        From `packed`.
    source : str
        File or address that it is told by.

    Returns
    -------
    Weather
        Equal to what was packed.
    """
    about = json.loads(str(arrays["about"]))
    site = Location(**about["site"])
    closure: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value for name, value in about["closure"].items()
    }
    return Weather(
        data=pd.DataFrame(dict(zip(COLUMNS, arrays["data"], strict=True)), index=hour_index(site)),
        site=site,
        kind=about["kind"],
        source=source,
        closure=Closure(**closure),
        notes=tuple(Note(code, values) for code, values in about["notes"]),
    )
