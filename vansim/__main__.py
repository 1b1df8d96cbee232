"""``vansim`` and ``python -m vansim``: the way in, which answers an interruption before anything large is imported."""

import sys

STOPPED = "stopped; nothing was written"
INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the number of the signal, as shells have it."""


def main() -> None:
    """Run the command line; Ctrl-C at any moment, imports included, is one line and exit code 130."""
    try:
        from vansim.cli import main as command_line

        command_line()
    except KeyboardInterrupt:
        code: object = INTERRUPTED
    except SystemExit as end:  # typer makes an interruption an exit
        code = end.code
    else:
        return
    if code == INTERRUPTED:
        print(STOPPED, file=sys.stderr)
    sys.exit(code if isinstance(code, int | str) else None)


if __name__ == "__main__":
    main()
