"""``python -m thriftlay``, and where the command begins.

Nothing is imported here that takes time before an interrupt is answered in one line.
"""

import sys

from .interrupt import end_on_the_spot


def main() -> int:
    """Run the command and return its exit status."""
    end_on_the_spot()
    from .main import main as run

    return run()


if __name__ == "__main__":
    sys.exit(main())
