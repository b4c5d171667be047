"""`python -m lapwright`: the same as the command `lapwright`."""

from lapwright.cli import main

if __name__ == "__main__":
    main()
