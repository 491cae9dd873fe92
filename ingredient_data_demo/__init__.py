"""The demo worktable, as data that is installed with the program: an invented workshop."""
