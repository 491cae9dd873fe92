"""Turns a worktable, a formula and briefs into one closed request with every number settled."""
