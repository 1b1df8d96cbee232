"""The kernel's constants for people and dogs are those of the table that names their sources."""

import pytest

from vansim.data import table
from vansim.van import people


def test_constants_are_the_tables():
    rows = table("people")
    assert rows["activities"]["sleeping"]["heat_w_m2"] == people.ASLEEP_W_M2
    assert rows["activities"]["seated"]["heat_w_m2"] == people.AWAKE_W_M2
    assert rows["vapour"]["latent_heat_kj_kg"] * 1000.0 == pytest.approx(people.LATENT_J_KG)
    assert rows["dog"]["resting_w_kg075"] == people.DOG_REST_W
    assert rows["dog"]["multiple"] == people.DOG_KENNEL
