"""`python -m lapwright`: the same as the command `lapwright`."""

import signal

# Until the command line answers it, Ctrl-C ends the process on the spot and not with a traceback.
if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
    signal.signal(signal.SIGINT, signal.SIG_DFL)

from lapwright.cli import main

if __name__ == "__main__":
    main()
