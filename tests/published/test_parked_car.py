"""The warm-up of a closed car in the sun, against measurements on a dark sedan; nothing is fitted on them.

Sources: Null (2003), table 1 (in `parked_car.csv`); McLaren, Null & Quinn (2005), Pediatrics 116:e109, abstract.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pandas as pd

from tests.support.bench import between, hold, read, row
from tests.support.sedan import Car, drawn, one_at_a_time, rise_k
from vansim.studies.outage import WarmUpBias

MINUTES = (10, 20, 30, 60)
NULL = "Null 2003, table 1, 12 rows"
MCLAREN = "McLaren, Null & Quinn 2005, abstract"


@cache
def measured_k() -> np.ndarray:
    """Measured rises, (12, 4) [K]."""
    table = read("parked_car")
    return (table[[f"T{m}_F" for m in MINUTES]].to_numpy() - table[["ambient_F"]].to_numpy()) / 1.8


@cache
def modelled_k() -> np.ndarray:
    """Rises of the car as described, one for each measured row at that row's ambient, (12, 4) [K]."""
    ambient = (read("parked_car")["ambient_F"].to_numpy() - 32.0) / 1.8
    once = {a: rise_k(Car(ambient_c=float(a))) for a in np.unique(ambient)}
    return np.array([once[a] for a in ambient])


@cache
def sensitivity() -> pd.DataFrame:
    """Each unknown at its ends, the others at their middle."""
    return one_at_a_time()


@cache
def cloud() -> np.ndarray:
    """Forty cars with every unknown drawn at random."""
    return drawn(40)


def rows() -> list[dict[str, Any]]:
    measured, modelled = measured_k(), modelled_k()
    spread, bias = measured.std(axis=0, ddof=1), (modelled - measured).mean(axis=0)
    why = "two standard deviations of the 12 measured rises: nothing better is known of a car that is not this one"
    out = [
        row(
            f"rise of a closed dark sedan after {m} min",
            measured[:, i].mean(),
            modelled[:, i].mean(),
            2 * spread[i],
            "K",
            why,
            NULL,
            "measurement",
        )
        for i, m in enumerate(MINUTES)
    ]
    out.append(
        row(
            "mean bias over the four moments",
            0.0,
            bias.mean(),
            spread.mean(),
            "K",
            "one mean standard deviation",
            NULL,
            "measurement",
        )
    )
    out.append(
        row(
            "rise in 60 min, ambient 22 to 36 degC",
            22.0,
            modelled[:, 3].mean(),
            6.8,
            "K",
            "two standard deviations of the rows at 60 min; the abstract says about 40 degF",
            MCLAREN,
            "measurement",
        )
    )
    share = modelled[:, 2].mean() / modelled[:, 3].mean()
    out.append(
        row(
            "share of the 60-min rise in the first 30 min",
            0.80,
            share,
            0.15,
            "1",
            "their own rows give 0.77, with 0.09 standard deviation; a two-node cabin rounds the bend",
            MCLAREN,
            "measurement",
        )
    )
    cool, warm = (rise_k(Car(ambient_c=c))[3] for c in (22.2, 35.6))
    out.append(
        row(
            "60-min rise at 96 degF less that at 72 degF",
            0.0,
            warm - cool,
            1.7,
            "K",
            "'not significantly different': half a standard deviation of the rows",
            MCLAREN,
            "measurement",
        )
    )
    closed, cracked = rise_k(Car()), rise_k(replace(Car(), leakage_per_h=3.0))
    out.append(
        between(
            "rise lost to a window open by a crack, share",
            0.0,
            0.2,
            1 - cracked[3] / closed[3],
            "1",
            "3.4 against 3.1 degF per 5 min and no useful difference at the end; 3 air changes an hour are "
            "assumed for the crack",
            MCLAREN,
            "measurement",
        )
    )
    told = WarmUpBias()
    assert told.minutes == MINUTES
    out += [
        row(f"bias told beside the first {m} min", bias[i], told.bias_k[i], 0.1, "K", "to a tenth", NULL, "measurement")
        for i, m in enumerate(MINUTES)
    ]
    return out


def test_warm_up_of_a_dark_sedan() -> None:
    hold(rows())


def test_agreement_is_not_luck() -> None:
    """Over the plausible range of every unknown the measurements stay within reach, and the model does not fit all.

    Each unknown alone keeps every moment within two standard deviations of the measured mean. Of forty cars drawn with
    every unknown at random more than half end inside the measured range (17.8 to 28.9 K at 60 min), and the measured
    mean lies within two standard deviations of that cloud at every moment: 1.2, 1.6, 1.1 and 0.7 above its middle.
    """
    mean, spread = measured_k().mean(axis=0), measured_k().std(axis=0, ddof=1)
    off = (sensitivity() - mean).abs() > 2.0 * spread
    assert not off.any(axis=None), off[off.any(axis=1)]
    inside = (cloud()[:, 3] > measured_k()[:, 3].min()) & (cloud()[:, 3] < measured_k()[:, 3].max())
    assert inside.mean() > 0.5
    assert np.all(np.abs(mean - cloud().mean(axis=0)) < 2.0 * cloud().std(axis=0))


def test_no_single_unknown_could_hide_a_wrong_model() -> None:
    """The widest swing of any unknown at 60 min is 8 K, a third of the rise: a factor of two in the physics shows."""
    table = sensitivity()[60].drop("as described", level=0)
    swing = table.groupby(level=0).agg(np.ptp)
    assert swing.max() < 0.4 * modelled_k()[:, 3].mean()


def test_the_spread_told_is_that_of_the_measurements() -> None:
    """Standard deviation of the twelve measured rises, to a tenth."""
    np.testing.assert_allclose(WarmUpBias().spread_k, measured_k().std(axis=0, ddof=1), atol=0.06)


def test_nothing_of_the_measurements_stands_in_the_car() -> None:
    """The car's middle values are the round figures of its description, not those that would meet the rows best."""
    bias = (modelled_k() - measured_k()).mean(axis=0)
    # 1.4 K warm at 10 min, 0.1 K cool at 20, 0.8 and 2.5 K warm at 30 and 60: stated, and left
    assert np.ptp(bias) > 1.0
    assert (np.abs(bias) < measured_k().std(axis=0, ddof=1)).all()
