"""``python -m flatgen`` and the ``flatgen`` entry point."""

import signal
import threading
from types import FrameType

WAIT = 0.05  # s, until an interruption that met an import is tried again


def stop(number: int, frame: FrameType | None) -> None:
    """Interrupt what runs, but not in the middle of an import.

    A library that is stopped while it starts (numpy's compiled part) reports an import that failed, on the screen and
    as an error like any other.
    """
    below = frame
    while below is not None:
        if below.f_code.co_filename.startswith("<frozen importlib"):
            again = threading.Timer(WAIT, signal.raise_signal, [number])
            again.daemon = True
            again.start()
            return
        below = below.f_back
    signal.default_int_handler(number, frame)


def main() -> None:
    """Run the command line."""
    # told to stop, by whomever: clear away what is half done and leave the old packet whole
    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
    from flatgen.cli import flatgen

    flatgen(prog_name="flatgen")


if __name__ == "__main__":
    main()
