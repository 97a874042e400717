"""The command line: a line's words read, the command run, what came of it told."""
