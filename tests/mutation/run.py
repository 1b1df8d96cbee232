"""Would the tests notice? Change one constant or sign at a time in a copy of the tree and run the tests nearest to it.

By hand, about ten minutes: ``python -m tests.mutation.run [first words of a mutant]``. Exits with 1 where fewer than
95 % of the mutants are caught. Compilation is switched off (``NUMBA_DISABLE_JIT``), so that a changed source costs
nothing but its own run; the tests named beside each mutant are those that need no solved cooler map, which is slow in
plain Python.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
COPIED = ("vansim", "tests", "data_demo", "scenarios", "pyproject.toml", "README.md")
WANTED = 0.95


class Mutant(NamedTuple):
    """A change that makes the physics wrong: file below vansim, text that stands there once, text instead, tests."""

    file: str
    text: str
    instead: str
    tests: str


AIR, SHELL, SKY = "published/test_moist_air.py", "published/test_envelope.py", "published/test_sky_radiation.py"
SUN, SOL_AIR = "published/test_solar_geometry.py", "published/test_sol_air.py"
FORMS, COIL, CYCLE = "published/test_closed_forms.py", "published/test_coil.py", "published/test_ideal_cycle.py"
BANK, CHARGING = "published/test_bank.py published/test_lead_acid.py", "published/test_charging.py"
BODIES, LEAKS, LINES = (
    "published/test_occupants.py",
    "published/test_air_exchange.py",
    "published/test_hazard_lines.py",
)
CAR = "published/test_parked_car.py::test_warm_up_of_a_dark_sedan"
CYCLING = "published/test_cycling.py::test_timers_bind_where_they_must"
CLOUD = "climate/test_sky_longwave.py"
FACES = "climate/test_sun.py"

MUTANTS = (
    Mutant("psychrometrics.py", "WATER_RATIO = 0.621945", "WATER_RATIO = 0.6198", AIR),
    Mutant("psychrometrics.py", "CP_DRY_AIR = 1006.0", "CP_DRY_AIR = 1000.0", AIR),
    Mutant("psychrometrics.py", "CP_VAPOUR = 1860.0", "CP_VAPOUR = 1800.0", AIR),
    Mutant("psychrometrics.py", "EVAPORATION_0C = 2.501e6", "EVAPORATION_0C = 2.45e6", AIR),
    Mutant("psychrometrics.py", "GAS_CONSTANT_DRY = 287.042", "GAS_CONSTANT_DRY = 288.0", AIR),
    Mutant("psychrometrics.py", "+ 6.5459673 * math.log(t)", "+ 6.5449673 * math.log(t)", AIR),
    Mutant("psychrometrics.py", "2.25577e-5 * altitude_m", "2.35577e-5 * altitude_m", AIR),
    Mutant("psychrometrics.py", "STEFAN_BOLTZMANN = 5.670374e-8", "STEFAN_BOLTZMANN = 5.5e-8", f"{SKY} {SHELL}"),
    Mutant("climate/sky_longwave.py", "0.711 + 0.56 * x", "0.711 - 0.56 * x", SKY),
    Mutant("climate/sky_longwave.py", "share * _hour_mean(clear) + (1.0 - share)", "_hour_mean(clear) + 0.0", CLOUD),
    Mutant("climate/known_skies.py", "- 0.0035 * n**2", "+ 0.0035 * n**2", CLOUD),
    Mutant("climate/sun.py", "east = -np.cos(declination)", "east = np.cos(declination)", SUN),
    Mutant(
        "climate/sun.py",
        "(1.0 - sky.anisotropy) * (1.0 + cos_tilt)",
        "(1.0 - sky.anisotropy) * (1.0 - cos_tilt)",
        FACES,
    ),
    Mutant(
        "climate/sun.py",
        "np.asarray(albedo) * (1.0 - cos_tilt) / 2.0",
        "np.asarray(albedo) * (1.0 + cos_tilt) / 2.0",
        SOL_AIR,
    ),
    Mutant("van/cabin.py", "return 4.0 + 4.0 * wind_m_s", "return 4.0 + 5.0 * wind_m_s", SHELL),
    Mutant(
        "van/cabin.py",
        "(absorbed_w_m2 - longwave_loss_w_m2)",
        "(absorbed_w_m2 + longwave_loss_w_m2)",
        f"{SHELL} {SOL_AIR}",
    ),
    Mutant("van/cabin_faces.py", '"roof": 0.17, "left"', '"roof": 0.10, "left"', SHELL),
    Mutant(
        "van/cabin_faces.py",
        'wall.\n        """\n        films = inside_m2k_w + outside_m2k_w',
        'wall.\n        """\n        films = inside_m2k_w',
        SHELL,
    ),
    Mutant("van/cabin.py", "convective + steeper + 4.0 * emittance", "convective + steeper + 3.0 * emittance", SHELL),
    Mutant(
        "van/cabin.py",
        "cabin.leakage_moving_per_h * speed_kmh / 100.0",
        "cabin.leakage_moving_per_h * speed_kmh / 10.0",
        LEAKS,
    ),
    Mutant(
        "boundary/forcing.py",
        "changes * cabin.volume_m3 / 3600.0 * density",
        "changes * cabin.volume_m3 / 3000.0 * density",
        LEAKS,
    ),
    Mutant("march/network.py", "a12 = coupling_w_k / air_j_k", "a12 = -coupling_w_k / air_j_k", FORMS),
    Mutant(
        "march/network.py",
        "(driven - fade * y)",
        "(driven + fade * y)",
        "march/test_network.py::test_mean_fade_is_the_weighted_mean",
    ),
    Mutant("boundary/envelope.py", "PANEL_ABSORBED = 1.526,", "PANEL_ABSORBED = 1.46,", "van/test_panels.py"),
    Mutant("march/network.py", "fast = 0.5 * (a11 + a22 - root)", "fast = 0.5 * (a11 + a22 - 0.99 * root)", FORMS),
    Mutant(
        "boundary/envelope.py",
        "straight = passed * cover.light_share * light",
        "straight = 0.5 * passed * cover.light_share * light",
        "analytic/test_heat_paths.py::test_glass_conducts_and_transmits",
    ),
    Mutant("van/people.py", "ASLEEP_W_M2 = 40.0", "ASLEEP_W_M2 = 45.0", BODIES),
    Mutant("van/people.py", "DOG_KENNEL = 1.98", "DOG_KENNEL = 2.2", BODIES),
    Mutant("van/people.py", "0.652 - 0.0348 * (cabin_c - 24.0)", "0.652 + 0.0348 * (cabin_c - 24.0)", BODIES),
    Mutant("van/people.py", "LEAST_LATENT = 0.25", "LEAST_LATENT = 0.0", BODIES),
    Mutant("van/people.py", "self.mass_kg**0.425", "self.mass_kg**0.435", BODIES),
    Mutant("heat_stress.py", "+ 1.22874e-3 * t * t * r", "- 1.22874e-3 * t * t * r", LINES),
    Mutant("van/charging.py", "CONTINUOUS_SHARE = 0.8", "CONTINUOUS_SHARE = 1.0", CHARGING),
    Mutant("van/charging.py", "(-2.98, -0.0471, 1.0)", "(-3.47, -0.0594, 3.0)", CHARGING),
    Mutant("van/charging.py", "COPPER_PER_K, COLD_C = 0.00393,", "COPPER_PER_K, COLD_C = 0.0015,", CHARGING),
    Mutant(
        "van/bank_steps.py",
        "return 2.0 * power_w / (ocv_v + math.sqrt(square))",
        "return 2.0 * power_w / (ocv_v - math.sqrt(square))",
        BANK,
    ),
    Mutant(
        "van/bank_steps.py",
        "bound * fade + b.bound_share * drawn_a",
        "bound * fade + 2.0 * b.bound_share * drawn_a",
        BANK,
    ),
    Mutant(
        "van/bank_steps.py",
        "by_voltage = (held_v - ocv) / resistance",
        "by_voltage = (held_v + ocv) / resistance",
        BANK,
    ),
    Mutant("van/bank.py", "rated_a=capacity / RATED_HOURS", "rated_a=2.0 * capacity / RATED_HOURS", BANK),
    Mutant("data/chemistries.toml", "cell_100ah_ohm = 0.0010", "cell_100ah_ohm = 0.0016", BANK),
    Mutant("data/chemistries.toml", "absorption_block_v = 14.5", "absorption_block_v = 13.0", BANK),
    Mutant(
        "van/cooler_balance.py",
        "1.0 - math.exp(-coil_ntu_kg_s / mass_flow_kg_s)",
        "1.0 - math.exp(-mass_flow_kg_s / coil_ntu_kg_s)",
        COIL,
    ),
    Mutant(
        "van/cooler_balance.py",
        "max(0.0, ratio - surface_ratio)",
        "max(0.0, ratio - 0.9 * surface_ratio)",
        COIL,
    ),
    Mutant("van/cooler_balance.py", "(evaporating_c + ZERO_C_K) / lift", "(condensing_c + ZERO_C_K) / lift", CYCLE),
    Mutant("van/cooler_compressor.py", "leak=0.030)", "leak=0.060)", CYCLE),
    Mutant("van/cooler_compressor.py", "1.0 - fall * away * away", "1.0 - fall * away", "published/test_compressor.py"),
    Mutant("data/refrigerants.toml", "-3.9363043853e-03,", "-3.6363043853e-03,", CYCLE),
)


def copy_tree(to: Path) -> None:
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, to / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
        elif source.exists():
            shutil.copy(source, to / name)


def passes(tree: Path, tests: str) -> bool:
    """Run some tests of a tree; whether all pass."""
    environment = {
        **os.environ, "NUMBA_DISABLE_JIT": "1", "VANSIM_CACHE": str(tree / "cache"), "PYTHONDONTWRITEBYTECODE": "1",
        "PYTHONPATH": str(tree),
    }  # fmt: skip
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-x",
        "-q",
        "-p",
        "no:cacheprovider",
        *(f"tests/{t}" for t in tests.split()),
    ]
    done = subprocess.run(command, cwd=tree, env=environment, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    return done.returncode == 0


def broken(tree: Path, mutant: Mutant) -> bool:
    """Whether the tests notice a mutant; the tree is as before afterwards."""
    path = tree / "vansim" / mutant.file
    original = path.read_text(encoding="utf-8")
    if original.count(mutant.text) != 1:
        raise RuntimeError(f"{mutant.file}: {mutant.text!r} stands there {original.count(mutant.text)} times")
    path.write_text(original.replace(mutant.text, mutant.instead), encoding="utf-8")
    try:
        return not passes(tree, mutant.tests)
    finally:
        path.write_text(original, encoding="utf-8")


def main(words: str) -> int:
    chosen = [m for m in MUTANTS if m.text.startswith(words)]
    caught = []
    with tempfile.TemporaryDirectory(prefix="vansim-mutation-") as folder:
        tree = Path(folder)
        copy_tree(tree)
        for tests in sorted({m.tests for m in chosen}):
            if not passes(tree, tests):
                print(f"without any change, {tests} does not pass; nothing can be said")
                return 2
        for mutant in chosen:
            start = time.perf_counter()
            caught.append(broken(tree, mutant))
            word = "caught  " if caught[-1] else "SURVIVED"
            print(
                f"{word} {time.perf_counter() - start:4.0f} s  {mutant.file}: {mutant.text} -> {mutant.instead}",
                flush=True,
            )
    share = sum(caught) / len(caught)
    print(f"{sum(caught)} of {len(caught)} caught ({share:.0%}); wanted {WANTED:.0%}")
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main(" ".join(sys.argv[1:])))
