"""A climate: one typical year of one place, its sun and its sky."""

from vansim.climate.download import download_weather
from vansim.climate.labels import closure
from vansim.climate.readers import read_weather
from vansim.climate.season import describe
from vansim.climate.sun import FaceIrradiance, Sky, cos_zenith, face_irradiance, sky
from vansim.climate.weather import Closure, Site, Weather

__all__ = [
    "Closure",
    "FaceIrradiance",
    "Site",
    "Sky",
    "Weather",
    "closure",
    "cos_zenith",
    "describe",
    "download_weather",
    "face_irradiance",
    "read_weather",
    "sky",
]
