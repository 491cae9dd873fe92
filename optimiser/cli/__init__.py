"""The command line: thin, every capability is a function in `workflows`."""
