"""``python -m flatgen`` and the ``flatgen`` entry point."""


def main() -> None:
    """Run the command line."""
    from flatgen.cli import flatgen

    flatgen(prog_name="flatgen")


if __name__ == "__main__":
    main()
