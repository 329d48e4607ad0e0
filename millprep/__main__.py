"""`python -m millprep`: the command line, from a clone too."""

import sys

from millprep.cli import main

if __name__ == "__main__":
    try:
        main()
    except ModuleNotFoundError as error:
        if error.name is None or error.name.startswith("millprep"):
            raise
        sys.stderr.write(
            f"stop: {error.name}, which millprep uses, is not installed for {sys.executable}\n"
            "    in the clone: python3 -m venv .venv && .venv/bin/pip install -qq ."
            " && .venv/bin/millprep --help\n"
        )
        sys.exit(2)
