"""The ``drill`` command, one module for each group of commands."""
