"""Every picture, by name: a result or a study in, a matplotlib figure out.

Nothing here reads a file, prints, or opens a window. Units are shown in `system` ``"si"`` or ``"us"``.
"""

from vansim.show.night import night
from vansim.show.sheet import png, svg

__all__ = ["night", "png", "svg"]
