"""Pages that must not drift from the program: generated parts, sessions shown, commands named, examples."""
