"""A logo for the head of a report, read from a file and checked."""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from pathlib import Path

from vansim.errors import ScenarioError
from vansim.input_files import read_file

LARGEST_BYTES = 2_000_000
KINDS = {
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
    b"GIF8": "image/gif",
}


@dataclass(frozen=True)
class Logo:
    """An image of one's own.

    Attributes
    ----------
    content : bytes
        The file.
    kind : str
        ``"image/png"`` and so on.
    words : str
        What it shows, for somebody who cannot see it.
    """

    content: bytes
    kind: str
    words: str

    @property
    def url(self) -> str:
        """The image itself as an address, so that a page asks for nothing."""
        return f"data:{self.kind};base64,{base64.b64encode(self.content).decode('ascii')}"


def read_logo(path: str | Path, words: str = "Logo") -> Logo:
    """Read a logo.

    Parameters
    ----------
    path : str or Path
        PNG, JPEG, GIF, or SVG; at most 2 MB.
    words : str
        What it shows.

    Returns
    -------
    Logo
        Checked by its first bytes, not by its name.

    Raises
    ------
    ScenarioError
        No such file, too large, or no such image.
    """
    where = Path(path)
    try:
        content = read_file(where)
    except OSError as problem:
        raise ScenarioError(f"logo {where}: cannot be read ({problem.strerror})") from None
    if len(content) > LARGEST_BYTES:
        raise ScenarioError(f"logo {where}: {len(content) / 1e6:.1f} MB; allowed: at most {LARGEST_BYTES / 1e6:.0f} MB")
    kind = next((kind for start, kind in KINDS.items() if content.startswith(start)), "")
    if not kind and b"<svg" in content[:4096]:
        kind = "image/svg+xml"
    if not kind or not _can_be_drawn(content):
        raise ScenarioError(f"logo {where}: not an image that can be used; allowed: PNG, JPEG, GIF, SVG")
    return Logo(content, kind, words)


def _can_be_drawn(content: bytes) -> bool:
    import typst

    try:
        data = json.dumps(list(content))
        typst.compile(b"#image(bytes(json(bytes(sys.inputs.logo))))", sys_inputs={"logo": data})
    except typst.TypstError:
        return False
    return True
