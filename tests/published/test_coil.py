"""Apparatus dew point and bypass factor of the coil, forward, backward, and where no such coil exists.

The relations are in any text on air conditioning (Stoecker & Jones, Refrigeration and Air Conditioning); the numbers
were worked out with PsychroLib, which is held to ours in `test_moist_air`.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.bench import hold, read, row
from tests.support.psychro import psychrolib_si
from vansim.errors import PhysicsError
from vansim.psychrometrics import CP_DRY_AIR, CP_VAPOUR, saturation_ratio
from vansim.van.cooler import coil_from_share
from vansim.van.cooler_balance import (
    EITHER,
    AirState,
    CoilContact,
    coil_contact,
    coil_gross_w,
    coil_sensible_w,
    coil_water_kg_s,
)

DRY_C, WET_C, PA = 26.6667, 19.4444, 101325.0
SOURCE = "bypass-factor method, worked with PsychroLib 2.5.0"


def entering_ratio() -> float:
    return float(psychrolib_si().GetHumRatioFromTWetBulb(DRY_C, WET_C, PA))


def forward(bypass: float, surface_c: float = 10.0) -> dict[str, float]:
    """Air leaving a coil at 10 °C, per kilogram of dry air."""
    w = entering_ratio()
    contact = 1.0 - bypass
    water = coil_water_kg_s(contact, w, saturation_ratio(surface_c, PA))
    # the printed sensible heat is h(T1, W_adp) - h_adp: taken at the drier air
    dry = contact * (CP_DRY_AIR + CP_VAPOUR * (w - water / contact)) * (DRY_C - surface_c) / 1000.0
    entering = AirState(outdoor_c=DRY_C, cabin_c=DRY_C, ratio=w, pressure_pa=PA)
    gross = coil_gross_w(CoilContact(kg_s=contact, air=entering, kind=EITHER), surface_c) / 1000.0
    return {
        "total kJ/kg": gross,
        "sensible kJ/kg": dry,
        "sensible share": dry / gross,
        "leaving dry bulb": DRY_C - contact * (DRY_C - surface_c),
        "leaving g/kg": 1000.0 * (w - water),
    }


def rows() -> list[dict[str, Any]]:
    w, out = entering_ratio(), []
    for r in read("coil").itertuples():
        if r.kind_of == "inverse":
            surface, bypass = coil_from_share(DRY_C, w, r.capacity_w, r.mass_flow_kg_s, r.share)
            ours = surface if r.quantity == "apparatus dew point" else bypass
            name = f"{r.quantity}, {r.capacity_w:.0f} W, {r.mass_flow_kg_s} kg/s"
        else:
            ours, name = forward(r.bypass)[r.quantity], f"{r.quantity}, bypass {r.bypass}"
        out.append(row(name, r.expected, ours, r.tolerance, r.unit, r.why, SOURCE, "library", "computed"))
    surface, bypass = coil_from_share(DRY_C, w, 2000.0, 0.13648, 0.75)
    water = coil_water_kg_s(0.13648 * (1 - bypass), w, saturation_ratio(surface, PA)) * 3600.0
    out.append(
        row(
            "condensate of 2000 W at a sensible share of 0.75",
            0.706,
            water,
            0.006,
            "kg/h",
            "their latent heat 2.55 MJ/kg follows from the enthalpies; printed to 0.001",
            SOURCE,
            "library",
            "computed",
        )
    )
    constant = 2.0 * (1.0 - coil_contact(0.2106, 0.13648))
    out.append(
        row(
            "bypass from A0 = 0.2106 kg/s, twice",
            2 * 0.2137,
            constant,
            0.001,
            "1",
            "printed to 1e-4",
            "BF = exp(-A0/m)",
            "textbook",
            "computed",
        )
    )
    # Supply air of comfort cooling at 400 cfm a ton (0.1888 m3/s for 3517 W), rating air, share 0.75: 11.8 K
    surface, bypass = coil_from_share(DRY_C, w, 3517.0, 0.21837, 0.75)
    drop = coil_sensible_w(0.21837 * (1 - bypass), DRY_C, w, surface) / (0.21837 * (CP_DRY_AIR + CP_VAPOUR * w))
    out.append(
        row(
            "supply below return at 400 cfm a ton",
            11.8,
            drop,
            0.1,
            "K",
            "printed to 0.1",
            "energy balance at the rating point",
            "textbook",
            "computed",
        )
    )
    return out


def test_coil() -> None:
    hold(rows())


def test_a_coil_that_cannot_exist_is_refused() -> None:
    """2000 W of 0.11566 kg/s at 26.7/19.4 degC: a share of 0.78 would need a surface warmer than the leaving air.

    With a fifth more air 0.80 is possible still, with hardly a bypass, and 0.9 is not.
    """
    w = entering_ratio()
    with pytest.raises(PhysicsError, match="saturation curve"):
        coil_from_share(DRY_C, w, 2000.0, 0.11566, 0.78)
    with pytest.raises(PhysicsError):
        coil_from_share(DRY_C, w, 2000.0, 0.13648, 0.9)
    surface, bypass = coil_from_share(DRY_C, w, 2000.0, 0.13648, 0.80)
    assert 13.0 < surface < 15.0
    assert 0.05 < bypass < 0.15


def test_sensible_share_does_not_depend_on_bypass() -> None:
    """At one apparatus dew point all the air that is cooled is cooled alike: the share is the same for any bypass."""
    shares = [forward(b)["sensible share"] for b in (0.05, 0.1, 0.2, 0.4)]
    assert max(shares) - min(shares) < 1e-9


@pytest.mark.parametrize(
    ("dry_c", "rh", "dew_c"), [(30, 0.3, 10.55), (35, 0.2, 8.71), (40, 0.1, 2.63), (28, 0.5, 16.61), (28, 0.6, 19.51)]
)
def test_a_coil_above_the_dew_point_stays_dry(dry_c: float, rh: float, dew_c: float) -> None:
    """Dew points after PsychroLib, printed to 0.01: a surface 0.05 K above drips nothing, one 0.05 K below does."""
    w = psychrolib_si().GetHumRatioFromRelHum(dry_c, rh, PA)
    assert coil_water_kg_s(0.1, w, saturation_ratio(dew_c + 0.05, PA)) == 0.0
    assert coil_water_kg_s(0.1, w, saturation_ratio(dew_c - 0.05, PA)) > 0.0
