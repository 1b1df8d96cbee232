"""Light through a module's glass, its cell's temperature and its power: as pvlib, the reference library, has them."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib.iam import physical
from pvlib.pvsystem import pvwatts_dc
from pvlib.temperature import TEMPERATURE_MODEL_PARAMETERS, sapm_cell

from vansim.boundary.envelope import panel_modifier
from vansim.van.charging import SolarArray, cell_c, solar_dc_w

LIGHT, AIR, WIND = (
    grid.ravel() for grid in np.meshgrid([0.0, 5.0, 200.0, 1000.0, 1250.0], [-20.0, 25.0, 48.0], [0.0, 3.0, 28.0])
)
MODULES = {"bracket": "close_mount_glass_glass", "glued": "insulated_back_glass_polymer"}


def test_glass_at_every_incidence() -> None:
    cosine = np.linspace(0.0, 1.0, 2001)
    ours = panel_modifier(cosine)
    np.testing.assert_allclose(ours, physical(np.degrees(np.arccos(cosine))), rtol=0.0, atol=1e-13)
    assert ours[0] == pytest.approx(0.0, abs=1e-13)
    assert ours[-1] == pytest.approx(1.0, abs=1e-13)


@pytest.mark.parametrize("mount", MODULES)
def test_cells(mount: str) -> None:
    part = SolarArray(rated_w=400.0, area_m2=2.0, mount=mount)
    theirs = sapm_cell(LIGHT, AIR, WIND, **TEMPERATURE_MODEL_PARAMETERS["sapm"][MODULES[mount]])
    np.testing.assert_allclose(cell_c(part, LIGHT, AIR, WIND), theirs, rtol=1e-13)


def test_power_never_negative() -> None:
    part = SolarArray(rated_w=400.0, area_m2=2.0, gamma_per_k=-0.0045)
    cells = np.append(np.linspace(-20.0, 95.0, LIGHT.size - 1), 400.0)
    theirs = np.maximum(pvwatts_dc(LIGHT, cells, 400.0, -0.0045), 0.0)
    ours = solar_dc_w(part, LIGHT, cells)
    np.testing.assert_allclose(ours, theirs * part.yield_factor, rtol=1e-13)
    assert ours[-1] == 0.0
    assert LIGHT[-1] > 0.0
