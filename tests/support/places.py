"""Folders of weather files: the invented climates, and the typical years that pvlib ships."""

from __future__ import annotations

from pathlib import Path

import pvlib

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "data_demo" / "climates"
SHIPPED = Path(pvlib.__file__).parent / "data"
