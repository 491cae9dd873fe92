"""What trials teach: numbers learned from readings, and the trials that would tell most."""
