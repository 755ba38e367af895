"""What the bundle starts: the command line; without words, the page."""

import multiprocessing

from pairing.commands import main

if __name__ == "__main__":
    multiprocessing.freeze_support()  # a worker of a scan is this same program, started to work
    main()
