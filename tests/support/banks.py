"""Banks as numbers, for the published checks."""

from __future__ import annotations

from typing import Any

from vansim.van.bank import Bank, BankParameters, BankUnit, bank_parameters, charge


def lfp(capacity_ah: float = 100.0, **changes: Any) -> BankParameters:
    """Four cells in series, cables left out."""
    unit = BankUnit(chemistry="lfp", capacity_ah=capacity_ah, charge_max_a=10.0 * capacity_ah)
    return bank_parameters(Bank(unit=unit, cable_mohm=0.0, **changes))


def agm(**changes: Any) -> BankParameters:
    """One unit of 100 Ah, cables left out."""
    return bank_parameters(Bank(unit=BankUnit(chemistry="agm", capacity_ah=100.0), cable_mohm=0.0))._replace(**changes)


def highest_v(bank: BankParameters, amps: float) -> float:
    """Highest terminal voltage of a charge from half to full at a current, step by step [V]."""
    limited, soc, top = bank._replace(charge_max_a=amps), 0.5, 0.0
    for _ in range(600):
        soc, _, mean_v, _, _, _ = charge(limited, soc, 1e5, 25.0, 60.0)
        top = max(top, mean_v)
        if soc >= 0.99999:
            break
    return top
