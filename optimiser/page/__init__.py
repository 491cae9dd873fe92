"""The local page: the commands work in a browser, through the same workflows, on the same files."""
