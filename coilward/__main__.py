"""`python -m coilward` is the command `coilward`."""

from coilward.desk.commands import main

if __name__ == "__main__":
    main()
