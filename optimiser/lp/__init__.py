"""Rules as linear rows over shares and presences. Shares no code with `checks`."""
