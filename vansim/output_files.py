"""Files written together or not at all, and the hash that ties a result to its scenario."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Any


def write_together(folder: Path, files: dict[str, bytes]) -> list[Path]:
    """Write several files so that either all or none of them change.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    files : dict of str to bytes
        Name to content.

    Returns
    -------
    list of Path
        The files; each is first written aside and then renamed.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as aside:
        for name, content in files.items():
            (Path(aside) / name).write_bytes(content)
        for name in files:
            os.replace(Path(aside) / name, folder / name)
    return [folder / name for name in files]


def scenario_hash(scenario: Any) -> str:
    """Hash of everything that a scenario says, 16 hexadecimal digits."""
    text = json.dumps(scenario.model_dump(mode="json"), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
