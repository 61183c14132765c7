"""``python -m apoyando`` is ``apoyando``."""

from apoyando.cli import main

if __name__ == "__main__":
    main()
