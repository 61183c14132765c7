"""The program: ``apoyando`` and ``python -m apoyando``."""

import sys

STOPPED = 130
"""The exit code of a program that was stopped by Ctrl-C (common practice of shells, 128 + SIGINT)."""


def main() -> None:
    """Load the command line and run it. Ctrl-C while it is still loading ends it in silence too."""
    try:
        from apoyando.cli import main as run  # noqa: PLC0415 - so that its loading can be stopped

        run()
    except KeyboardInterrupt:
        sys.exit(STOPPED)


if __name__ == "__main__":
    main()
