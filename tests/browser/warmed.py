"""Imported once, by the process that services are forked from: what every service needs before it can plan."""

import gc

import drill.app
import drill.cli.command
import drill.jobs  # noqa: F401
from drill.planning.repertoire import warm_up

warm_up()
# The garbage collector would otherwise touch, and so copy, the memory that the services share.
gc.freeze()
