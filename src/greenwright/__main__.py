"""`python -m greenwright` is the command `greenwright`."""

from greenwright.main import main

main()
