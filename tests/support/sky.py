"""What comes from the sky, in other words: radiation as a temperature and back, and all of it on a plane."""

from __future__ import annotations

import numpy as np

from vansim.climate import FaceIrradiance
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K


def longwave_w_m2(temp_air_c: float, emissivity: float) -> float:
    """Longwave [W/m2] of a sky of some emissivity at the air's temperature [°C]: emissivity times sigma T^4."""
    return emissivity * STEFAN_BOLTZMANN * (temp_air_c + ZERO_C_K) ** 4


def sky_temperature_c(longwave: float) -> float:
    """Temperature [°C] of a black sky that sends a given longwave [W/m2]."""
    return (longwave / STEFAN_BOLTZMANN) ** 0.25 - ZERO_C_K


def total_w_m2(face: FaceIrradiance) -> np.ndarray:
    """Beam, sky and ground on a plane, before any modifier [W/m2]."""
    return face.beam + face.sky_diffuse + face.ground
