"""The judge: every rule recomputed in exact fractions on the printed shares. Shares no code with `lp`."""
