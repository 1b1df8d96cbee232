"""Sky emissivity and cloud against published values, and four faults seen in public code that would show."""

from __future__ import annotations

import numpy as np
import pytest

from vansim.climate.sky_longwave import (
    cloud_factor_walton,
    longwave_w_m2,
    sky_cover_from_ghi,
    sky_emissivity_berdahl_martin,
    sky_emissivity_clark_allen,
    sky_temperature_c,
)

pytestmark = pytest.mark.published

SIGMA = 5.670374e-8


def test_clark_allen_worked_value() -> None:
    """20 degC air, 10 degC dew point, clear: 341.2 W/m2 by Clark & Allen (1978), as worked in public code."""
    assert longwave_w_m2(20.0, sky_emissivity_clark_allen(10.0)) == pytest.approx(341.2, abs=0.1)


@pytest.mark.parametrize(
    ("air_c", "dew_c", "mean", "midnight", "noon"),
    [
        (30.0, 14.93, 0.8109, 0.8239, 0.7979),
        (35.0, 14.85, 0.8102, 0.8232, 0.7972),
        (38.0, 6.89, 0.7531, 0.7661, 0.7401),
        (25.0, 19.15, 0.8450, 0.8580, 0.8320),
        (20.0, 10.00, 0.7743, 0.7873, 0.7613),
    ],
)
def test_berdahl_martin(air_c: float, dew_c: float, mean: float, midnight: float, noon: float) -> None:
    """Berdahl & Martin (1984) worked by hand at 1000 mbar; 6 h is where the daily term is nil."""
    found = [sky_emissivity_berdahl_martin(dew_c, hour) for hour in (6.0, 0.0, 12.0)]
    assert found == pytest.approx([mean, midnight, noon], abs=1e-4)
    assert sky_temperature_c(longwave_w_m2(air_c, found[0])) == pytest.approx(
        (mean**0.25) * (air_c + 273.15) - 273.15, abs=0.02
    )


def test_berdahl_martin_sky_temperature_of_a_hot_dry_night() -> None:
    """38 degC and 15 % relative humidity, daily mean: 16.70 degC; Clark & Allen say 21.71: they differ most here."""
    assert sky_temperature_c(longwave_w_m2(38.0, sky_emissivity_berdahl_martin(6.89, 6.0))) == pytest.approx(
        16.70, abs=0.05
    )
    assert sky_temperature_c(longwave_w_m2(38.0, sky_emissivity_clark_allen(6.89))) == pytest.approx(21.71, abs=0.05)


def test_pressure_term_from_memory() -> None:
    """0.00012 a mbar: 0.012 less at 900 mbar."""
    drop = sky_emissivity_berdahl_martin(10.0, 6.0, 1e5) - sky_emissivity_berdahl_martin(10.0, 6.0, 9e4)
    assert drop == pytest.approx(0.012, abs=1e-9)


def test_walton_cloud_factor() -> None:
    """Walton (1983): 1.0595 at 5 tenths, 1.154 at 10."""
    assert cloud_factor_walton(np.array([0.0, 0.5, 1.0])) == pytest.approx([1.0, 1.0595, 1.154], abs=1e-9)


FAULTS = {
    "0.0028 for 0.00028": lambda n: 1 + 0.0224 * n - 0.0035 * n**2 + 0.0028 * n**3,
    "plus for minus 0.0035": lambda n: 1 + 0.0224 * n + 0.0035 * n**2 + 0.00028 * n**3,
}


@pytest.mark.parametrize("fault", FAULTS)
def test_cloud_coefficient_faults_would_show(fault: str) -> None:
    for tenths in (3.0, 5.0, 10.0):
        assert abs(FAULTS[fault](tenths) - cloud_factor_walton(tenths / 10.0)) > 0.05


def test_cloud_factor_multiplies_the_whole_emissivity() -> None:
    """Fault: the factor on the logarithm alone. Overcast, 10 degC dew point, that gives 0.819 for 0.940."""
    whole = sky_emissivity_clark_allen(10.0) * cloud_factor_walton(1.0)
    on_the_log = 0.787 + 0.764 * np.log(283.15 / 273.0) * 1.154
    assert whole == pytest.approx(0.9403, abs=2e-4)
    assert whole - on_the_log > 0.1


def test_longwave_goes_with_the_fourth_power() -> None:
    """Fault: T for T^4."""
    assert longwave_w_m2(40.0, 0.8) / longwave_w_m2(20.0, 0.8) == pytest.approx((313.15 / 293.15) ** 4, rel=1e-9)
    assert longwave_w_m2(26.85, 1.0) == pytest.approx(SIGMA * 300.0**4, rel=1e-6)


def test_a_sky_is_never_brighter_than_black() -> None:
    assert longwave_w_m2(20.0, 1.08) == longwave_w_m2(20.0, 1.0)


def test_cloud_from_sun_inverts_kasten_czeplak() -> None:
    """G/G0 = 1 - 0.75 (N/8)^3.4 with G0 = 910 sin h - 30; nights get the line between evening and morning."""
    cos_z = np.array([0.0, 0.5, 0.8, 0.5, 0.0, 0.0])
    cover = np.array([0.3, 0.3, 0.6, 0.9, 0.9, 0.9])
    ghi = np.where(cos_z > 0, (910.0 * cos_z - 30.0) * (1.0 - 0.75 * cover**3.4), 0.0)
    found = sky_cover_from_ghi(ghi, cos_z)
    assert found[1:4] == pytest.approx([0.3, 0.6, 0.9], abs=1e-9)
    assert found[[4, 5, 0]] == pytest.approx([0.75, 0.6, 0.45], abs=1e-9)
