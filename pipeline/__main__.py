"""`python -m pipeline` is the command `comparables`."""

from pipeline.cli import main

main()
