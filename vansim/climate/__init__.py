"""A climate: one typical year of one place, its sun and its sky."""

from vansim.climate.at_hand import FileAtHand, files_at_hand
from vansim.climate.describe import describe
from vansim.climate.download import download_weather
from vansim.climate.readers import read_weather
from vansim.climate.sun import FaceIrradiance, Sky, face_irradiance, sky
from vansim.climate.weather import Closure, Location, Weather

__all__ = [
    "Closure",
    "FaceIrradiance",
    "FileAtHand",
    "Location",
    "Sky",
    "Weather",
    "describe",
    "download_weather",
    "face_irradiance",
    "files_at_hand",
    "read_weather",
    "sky",
]
