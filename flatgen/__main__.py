"""``python -m flatgen`` and the ``flatgen`` entry point."""


def main() -> None:
    """Run the command line."""
    import signal

    from flatgen.cli import flatgen

    # told to stop, by whomever: clear away what is half done and leave the old packet whole, as on Ctrl-C
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    flatgen(prog_name="flatgen")


if __name__ == "__main__":
    main()
