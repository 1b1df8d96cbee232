"""The march in C (`march.c`), compiled by whatever `cc` there is, called through ctypes."""

from __future__ import annotations

import ctypes
import hashlib
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.march.records import TOTALS, Records, VanParameters, new_records
from vansim.van.cooler_map import (
    FIRST_CABIN_C,
    FIRST_OUTDOOR_C,
    STEP_CABIN_K,
    STEP_OUTDOOR_K,
    STEP_RATIO,
)

SOURCE = Path(__file__).with_name("march.c")
FLAGS = ("-O3", "-std=c11", "-Wall", "-Wextra", "-shared", "-fPIC")


def compiler() -> str | None:
    """A C compiler, or None."""
    return shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")


@cache
def library() -> ctypes.CDLL:
    """Compile once for each source; the shared object stays in the folder for temporary files."""
    cc = compiler()
    assert cc is not None, "no C compiler"
    name = hashlib.sha256(SOURCE.read_bytes() + " ".join((cc, *FLAGS)).encode()).hexdigest()[:16]
    target = Path(tempfile.gettempdir()) / f"vansim-march-{name}.so"
    if not target.exists():
        with tempfile.TemporaryDirectory() as folder:
            made = Path(folder) / target.name
            subprocess.run([cc, *FLAGS, str(SOURCE), "-o", str(made), "-lm"], check=True)
            shutil.copy(made, target.with_suffix(f".{Path(folder).name}"))
        target.with_suffix(f".{Path(folder).name}").replace(target)
    loaded = ctypes.CDLL(str(target))
    loaded.march.restype = ctypes.c_int64
    return loaded


class _Map(ctypes.Structure):
    _fields_ = (
        ("grid", ctypes.c_void_p),
        ("coil", ctypes.c_void_p),
        *(
            (name, ctypes.c_double)
            for name in ("pressure", "outdoor", "step_outdoor", "cabin", "step_cabin", "step_ratio")
        ),
        *((name, ctypes.c_int64) for name in ("n_outdoor", "n_cabin", "n_ratio")),
    )


@dataclass(frozen=True)
class InC:
    """Everything of a run laid out as the C code reads it; `march` may be called as often as wanted."""

    rows: np.ndarray
    house: np.ndarray
    grid: np.ndarray
    coil: np.ndarray
    pressure_pa: float
    numbers: np.ndarray
    curve: np.ndarray
    climate: np.ndarray

    def march(self, state: Records, stop_at_reserve: bool = False) -> tuple[Records, int]:
        """Totals per interval, and how many steps there were; `state` is changed in place."""
        totals, numbers = new_records(TOTALS, len(self.rows)), np.array(state.tolist())
        shape = self.grid.shape[3:]
        axes = (FIRST_OUTDOOR_C, STEP_OUTDOOR_K, FIRST_CABIN_C, STEP_CABIN_K, STEP_RATIO)
        cooler = _Map(self.grid.ctypes.data, self.coil.ctypes.data, self.pressure_pa, *axes, *shape)
        n, point = ctypes.c_int64, ctypes.c_void_p
        steps = library().march(
            point(self.rows.ctypes.data),
            n(len(self.rows)),
            point(self.constants.ctypes.data),
            ctypes.byref(cooler),
            point(self.numbers.ctypes.data),
            point(self.curve.ctypes.data),
            n(self.curve.shape[1]),
            point(self.climate.ctypes.data),
            n(self.climate.shape[1]),
            point(numbers.ctypes.data),
            point(totals.ctypes.data),
            ctypes.c_int(stop_at_reserve),
        )
        for name, value in zip(state.dtype.names, numbers, strict=True):
            state[name] = value
        return totals, steps


def in_c(forcing: Forcing, van: VanParameters) -> InC:
    """Lay the arguments of `march_forcing` out for C."""
    bank, cooler = van.bank._asdict(), van.cooler
    curve, climate = bank.pop("curve"), bank.pop("climate")
    return InC(
        rows=np.ascontiguousarray(np.column_stack([np.asarray(column, dtype=float) for column in forcing])),
        constants=np.array([float(value) for value in van.cabin]),
        grid=np.stack([cooler.surface_c, cooler.power_w], axis=1),
        coil=np.column_stack([cooler.airflow_m3_s, cooler.blower_w, cooler.coil_ntu_kg_s]),
        pressure_pa=cooler.pressure_pa,
        numbers=np.array([float(value) for value in bank.values()]),
        curve=np.ascontiguousarray(curve),
        climate=np.ascontiguousarray(climate),
    )
