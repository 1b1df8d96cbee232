"""Was the longwave of a file measured? Not if a formula gives it back from the file's own air, dew point and cloud.

Most files carry a column that their makers computed. It is told by trying the formulas that such makers use, for a
clear sky and for cloud, and looking how nearly the column is met.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K

Array = npt.NDArray[np.float64]

REPRODUCED_W_M2 = 3.0
"""A column is computed where half of its hours lie within 3 W/m2 of a formula: files round dew point to 0.1 K, cover to
a tenth and longwave to 1 W/m2. A pyrgeometer's hours scatter by 15 to 25 W/m2 about any formula."""


def berdahl_martin(dew_c: Array, hour: Array, pressure_pa: Array) -> Array:
    """Berdahl & Martin (1984), Solar Energy 32:663, with the authors' terms for hour and pressure (from memory)."""
    x = dew_c / 100.0
    daily = 0.013 * np.cos(2.0 * np.pi * hour / 24.0)
    return 0.711 + 0.56 * x + 0.73 * x**2 + daily + 0.00012 * (pressure_pa / 100.0 - 1000.0)


def berdahl_martin_mean(dew_c: Array, hour: Array, pressure_pa: Array) -> Array:
    """The same for a mean of the day at sea level."""
    x = dew_c / 100.0
    return 0.711 + 0.56 * x + 0.73 * x**2


def clark_allen(dew_c: Array, hour: Array, pressure_pa: Array) -> Array:
    """Clark & Allen (1978): 0.787 + 0.764 ln(Td/273), Td in kelvin."""
    return np.asarray(0.787 + 0.764 * np.log((dew_c + ZERO_C_K) / 273.0))


def brunt(dew_c: Array, hour: Array, pressure_pa: Array) -> Array:
    """The form of Brunt (1932) with constants of 2023: 0.600 + 1.652 sqrt(e/101325 Pa)."""
    return np.asarray(0.600 + 1.652 * np.sqrt(vapour_hpa(dew_c) / 1013.25))


def vapour_hpa(dew_c: Array) -> Array:
    """Vapour pressure [hPa] by the Magnus form, as such formulas take it."""
    return np.asarray(6.1094 * np.exp(17.625 * dew_c / (243.04 + dew_c)))


def walton(emissivity: Array, cover: Array) -> Array:
    """Walton (1983), NBSIR 83-2655: times 1 + 0.0224 N - 0.0035 N^2 + 0.00028 N^3, N opaque cover in tenths."""
    n = 10.0 * cover
    return emissivity * (1.0 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3)


def unsworth_monteith(emissivity: Array, cover: Array) -> Array:
    """Unsworth & Monteith (1975), Q. J. R. Meteorol. Soc. 101:13: (1 - 0.84 c) times that of clear sky + 0.84 c."""
    return (1.0 - 0.84 * cover) * emissivity + 0.84 * cover


OURS = "the formula used here"
CLEAR: dict[str, Callable[[Array, Array, Array], Array]] = {
    "Clark & Allen 1978": clark_allen,
    "Berdahl & Martin 1984": berdahl_martin,
    "Berdahl & Martin 1984, daily mean": berdahl_martin_mean,
    "Brunt 1932": brunt,
}
CLOUD: dict[str, Callable[[Array, Array], Array]] = {
    "Walton 1983": walton,
    "Unsworth & Monteith 1975": unsworth_monteith,
}


@dataclass(frozen=True)
class ColumnCheck:
    """How nearly a formula gives back a file's longwave.

    Attributes
    ----------
    formula : str
        The nearest, clear sky and cloud.
    apart_w_m2 : float
        Median of what lies between it and the column [W/m2].
    """

    formula: str
    apart_w_m2: float

    @property
    def computed(self) -> bool:
        """Whether the column is taken to be computed, not measured."""
        return self.apart_w_m2 <= REPRODUCED_W_M2


def check_column(
    longwave: Array, temp_air_c: Array, temp_dew_c: Array, pressure_pa: Array, covers: list[Array], ours: Array
) -> ColumnCheck:
    """Find the known formula that comes nearest to a file's longwave.

    Parameters
    ----------
    longwave : (8760,) array
        The file's column, hour by hour [W/m2]; NaN where it has none.
    temp_air_c, temp_dew_c, pressure_pa : (8760,) array
        At the beginning of each hour [°C, Pa].
    covers : list of (8760,) array
        Sky covers that the file has at these moments, 0 to 1, NaN where none.
    ours : (8760,) array
        What this package's own formula gives [W/m2].

    Returns
    -------
    ColumnCheck
        Of the values at the hour's end (as the row of most files has them), at its beginning, and of their mean.
    """
    black = STEFAN_BOLTZMANN * (temp_air_c + ZERO_C_K) ** 4
    hour = np.arange(len(longwave), dtype=float) % 24
    found = [ColumnCheck(OURS, float(np.nanmedian(np.abs(ours - longwave))))]
    for name, clear in CLEAR.items():
        emissivity = clear(temp_dew_c, hour, pressure_pa)
        skies = {"no cloud": emissivity}
        for i, cover in enumerate(covers):
            skies |= {f"{cloud}{' ' * i}": term(emissivity, cover) for cloud, term in CLOUD.items()}
        for cloud, sky in skies.items():
            begin = np.minimum(sky, 1.0) * black
            end = np.roll(begin, -1)
            apart = [np.abs(each - longwave) for each in (end, begin, 0.5 * (begin + end))]
            known = [float(np.nanmedian(a)) for a in apart if np.isfinite(a).any()]
            if known:
                found.append(ColumnCheck(f"{name} with {cloud.strip()}", min(known)))
    return min(found, key=lambda check: check.apart_w_m2)
