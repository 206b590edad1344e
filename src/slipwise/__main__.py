"""`python -m slipwise` is the command line."""

from slipwise.doors.cli.app import entry

if __name__ == "__main__":
    entry()
