"""``python -m curing`` is the same as ``curing``."""

from curing.cli import main

if __name__ == "__main__":
    main()
